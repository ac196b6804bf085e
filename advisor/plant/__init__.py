"""A physical burner, appliance, flue, instruments and observer, for measuring how well the advisor diagnoses.

It knows nothing of rules or causes: it imports :mod:`advisor.physics` and the standard library only.
"""

from advisor.plant.builders import KINDS, healthy, tuned
from advisor.plant.burner import Plant, PlantError
from advisor.plant.faults import FAULTS, SEVERITY, applicable, with_faults
from advisor.plant.history import run_weeks
from advisor.plant.instruments import MEASURED, SOUND, Kit, faulty_kit, measure
from advisor.plant.observe import OBSERVED, observe
from advisor.plant.steady import State, solve
from advisor.plant.visit import Visit, visit

__all__ = ["FAULTS", "KINDS", "MEASURED", "OBSERVED", "SEVERITY", "SOUND", "Kit", "Plant", "PlantError", "State",
           "Visit", "applicable", "faulty_kit", "healthy", "measure", "observe", "run_weeks", "solve", "tuned",
           "visit", "with_faults"]
