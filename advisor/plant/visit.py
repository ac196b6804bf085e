"""One service call: a plant with faults, the instruments of the day, and one door to ask."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from zlib import crc32

from advisor.plant.burner import Plant, PlantError
from advisor.plant.faults import with_faults
from advisor.plant.ignition import cycle
from advisor.plant.instruments import MEASURED, SOUND, Kit, Scene, read
from advisor.plant.observe import OBSERVED, see, true_answer
from advisor.plant.steady import solve


@dataclass(frozen=True)
class Visit:
    """A call that can be asked; the same question always gets the same answer."""

    scene: Scene
    faults: tuple[str, ...]
    seed: int

    def ask(self, name: str) -> str | float | None:
        """Reading or answer.

        Parameters
        ----------
        name : str
            A quantity or an observation.

        Returns
        -------
        float, str or None
            None where it cannot be had: no flame, or no such part.

        Raises
        ------
        PlantError
            Unknown name.

        Examples
        --------
        >>> visit(Plant(), {}, seed=1).ask("appliance")
        'boiler'
        """
        # A generator of its own for each question: the answer does not hang on the order of asking.
        rng = random.Random(self.seed * 1_000_003 + crc32(name.encode()))
        if name in MEASURED:
            return read(self.scene, name, rng)
        if name in OBSERVED:
            return see(self.scene, name, rng)
        raise PlantError(f"{name!r} cannot be asked; see MEASURED and OBSERVED")

    def truth(self, name: str) -> str | None:
        """An observation without human error."""
        return true_answer(self.scene, name)


def visit(plant: Plant, faults: Mapping[str, float | str], seed: int, kit: Kit = SOUND) -> Visit:
    """A call on a plant with faults.

    Parameters
    ----------
    plant : Plant
        Healthy and tuned.
    faults : Mapping[str, float or str]
        Severity by fault name (:func:`advisor.plant.faults.with_faults`).
    seed : int
        Makes errors of instruments and people repeatable.
    kit : Kit, optional

    Returns
    -------
    Visit

    Raises
    ------
    PlantError
        See :func:`advisor.plant.faults.with_faults`.
    """
    sick = with_faults(plant, faults)
    state = solve(sick)
    return Visit(Scene(sick, state, cycle(sick, state), kit), tuple(faults), seed)
