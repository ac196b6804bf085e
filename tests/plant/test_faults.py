"""Every fault acts on the physics, shows somewhere at its worst, and may be joined by others."""

import ast
import random
import sys
from pathlib import Path

import pytest
import yaml

import advisor.plant
from advisor.plant import (
    FAULTS,
    KINDS,
    MEASURED,
    OBSERVED,
    Kit,
    Plant,
    PlantError,
    Visit,
    applicable,
    faulty_kit,
    healthy,
    solve,
    visit,
    with_faults,
)
from advisor.plant.instruments import Scene
from advisor.plant.observe import _ANSWERS

UNITS = {
    "boiler": healthy("boiler", air_supply="enclosed-room", tank_place="outdoor", flue_sharing="shared"),
    "furnace": healthy("furnace", air_supply="ducted-outdoor"),
    "power-vented": healthy("power-vented"),
    "sealed": healthy("sealed"),
    "old-boiler": healthy("old-boiler"),
}
ERROR = {
    "stack_temperature": 8.0, "co2": 0.4, "o2": 0.4, "draft_over_fire": 0.004, "draft_breech": 0.004, "smoke": 0.6,
    "co": 20.0, "pump_pressure": 4.0, "pump_vacuum": 1.0, "return_temperature": 5.0, "air_temperature_rise": 6.0,
    "house_pressure": 0.008, "supply_voltage": 3.0, "flame_sensor_resistance": 60.0, "cycles_per_hour": 1.5,
    "room_temperature": 5.0, "oil_temperature": 5.0, "motor_speed": 80.0,
}


def unit_for(fault: str) -> Plant:
    return next(p for p in UNITS.values() if FAULTS[fault].fits(p))


def moved(before: Visit, after: Visit) -> list[str]:
    """Readings and observations that moved by more than the instruments' error."""
    found = []
    for name, error in ERROR.items():
        a, b = before.ask(name), after.ask(name)
        if isinstance(a, float) != isinstance(b, float) or (
                isinstance(a, float) and isinstance(b, float) and abs(a - b) > error):
            found.append(name)
    return found + [n for n in OBSERVED if n != "complaint" and before.truth(n) != after.truth(n)]


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_gross_fault_shows(fault: str) -> None:
    p = unit_for(fault)
    assert moved(visit(p, {}, 1), visit(p, {fault: "gross"}, 1))


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_nothing_at_severity_zero_and_all_solves(fault: str) -> None:
    for p in UNITS.values():
        if not FAULTS[fault].fits(p):
            continue
        assert with_faults(p, {fault: 0.0}) == p
        for severity in ("slight", "moderate", "gross"):
            assert solve(with_faults(p, {fault: severity})).burning in (True, False)


def test_enough_faults_and_every_unit_has_many() -> None:
    assert len(FAULTS) >= 45
    for kind in KINDS:
        assert len(applicable(healthy(kind))) >= 40


def test_several_at_once() -> None:
    rng = random.Random(3)
    for kind, p in UNITS.items():
        for _ in range(12):
            names = rng.sample(applicable(p), 3)
            v = visit(p, dict.fromkeys(names, rng.random()), rng.randrange(1000))
            for name in ("co2", "smoke", "draft_over_fire", "start_behavior", "complaint"):
                answer = v.ask(name)
                assert answer is None or isinstance(answer, (str, float)), (kind, names)
    both = with_faults(UNITS["boiler"], {"sooted-gas-passages": 0.5, "weak-cut-off": 0.5})
    assert both.soot_closing > 0.0
    assert both.cutoff_leak > 0.0


def test_any_three_faults_solve_to_a_possible_state() -> None:
    rng = random.Random(17)
    for _ in range(250):
        p = rng.choice(list(UNITS.values()))
        s = solve(with_faults(p, {name: rng.random() for name in rng.sample(applicable(p), 3)}))
        assert abs(s.draft_chimney - s.vent.draft) < 1e-4 or not s.burning  # the network balances
        assert 0.0 <= s.smoke <= 9.0
        assert 0.0 <= s.co2 < 15.8
        assert 0.0 <= s.o2 < 21.0
        assert p.room_degf < s.stack_degf < 1300.0


def test_repeatable_by_seed_in_any_order() -> None:
    p = UNITS["boiler"]
    names = [*MEASURED, *OBSERVED]
    first = visit(p, {"nozzle-worn": 0.6}, 11)
    second = visit(p, {"nozzle-worn": 0.6}, 11)
    forward = {n: first.ask(n) for n in names}
    backward = {n: second.ask(n) for n in reversed(names)}
    assert forward == backward
    other = visit(p, {"nozzle-worn": 0.6}, 12)
    assert any(other.ask(n) != forward[n] for n in MEASURED)


def test_people_err_in_about_two_answers_of_a_hundred() -> None:
    p = UNITS["boiler"]
    wrong = asked = 0
    for seed in range(120):
        v = visit(p, {}, seed)
        for n in ("fan_wheel", "head_look", "nozzle_look", "oil_filter", "passages_look", "regulator_state"):
            asked += 1
            wrong += v.ask(n) != v.truth(n)
    assert 0.005 < wrong / asked < 0.045


def test_names_and_answers_are_those_of_the_knowledge() -> None:
    # Only this test reads the knowledge; the plant itself must not.
    root = Path(__file__).parents[2] / "knowledge"
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    known = {str(o["observation"]): list(o["answers"]) for f in (root / "observations").glob("*.yaml")
             for o in yaml.load(f.read_text(), loader)}
    quantities = {str(q["quantity"]) for q in yaml.load((root / "quantities.yaml").read_text(), loader)}
    causes = {str(c["cause"]) for f in (root / "causes").glob("*.yaml")
              for c in yaml.load(f.read_text(), loader)}
    assert set(OBSERVED) <= set(known)
    assert set(MEASURED) <= quantities
    assert set(FAULTS) <= causes
    for name, answers in _ANSWERS.items():
        assert set(answers) <= set(known[name]), name
    for p in UNITS.values():
        for fault in [None, *applicable(p)]:
            v = visit(p, {fault: 1.0} if fault else {}, 0)
            for name in OBSERVED:
                answer = v.truth(name)
                assert answer is None or answer in known[name], (name, fault)


def test_plant_imports_physics_and_the_standard_library_only() -> None:
    allowed = set(sys.stdlib_module_names)
    folder = Path(str(advisor.plant.__file__)).parent
    for path in folder.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            modules = ([a.name for a in node.names] if isinstance(node, ast.Import)
                       else [node.module or ""] if isinstance(node, ast.ImportFrom) else [])
            for module in modules:
                assert module.split(".")[0] in allowed or module.startswith(("advisor.plant", "advisor.physics"))


def test_instrument_faults() -> None:
    p = UNITS["boiler"]
    sound = visit(p, {}, 5)

    def read(kit: Kit, name: str) -> float:
        value = visit(p, {}, 5, kit).ask(name)
        assert isinstance(value, float)
        return value

    def true(name: str) -> float:
        value = sound.ask(name)
        assert isinstance(value, float)
        return value

    assert read(Kit(hose_leak=0.3), "co2") < true("co2") - 2.0
    assert read(Kit(hose_leak=0.3), "o2") > true("o2") + 2.0
    assert read(Kit(gauge_zero=0.02), "draft_breech") == pytest.approx(true("draft_breech") + 0.02)
    assert read(Kit(fluid_spent=0.2), "co2") < true("co2") - 1.5
    assert read(Kit(fluid_spent=0.2), "o2") == true("o2")
    assert read(Kit(probe_place="past-regulator"), "stack_temperature") < true("stack_temperature") - 40.0
    assert read(Kit(warmed_up=False), "stack_rise_rate") > 5.0
    assert visit(p, {}, 5, Kit(hose_leak=0.3)).truth("sample_line") == "leaking"
    kits = {faulty_kit(random.Random(i)) for i in range(200)}
    assert len(kits) > 20


def test_no_flame_no_flame_readings() -> None:
    v = visit(UNITS["boiler"], {"tank-empty-or-valve-shut": 1.0}, 1)
    assert v.ask("co2") is None
    assert v.ask("flame_look") is None
    assert v.truth("valves_open") == "tank-empty"
    assert v.ask("ignition_delay") == 90.0
    assert v.truth("complaint") == "lockout"


@pytest.mark.parametrize(("faults", "words"), [
    ({"ghost": 1.0}, "ghost"), ({"nozzle-worn": 2.0}, "severity"), ({"nozzle-worn": "huge"}, "huge"),
    ({"power-venter-weak": 1.0}, "no such part")])
def test_clear_errors(faults: dict[str, float | str], words: str) -> None:
    with pytest.raises(PlantError, match=words):
        with_faults(UNITS["old-boiler"], faults)


def test_unknown_question() -> None:
    v = visit(UNITS["boiler"], {}, 1)
    with pytest.raises(PlantError, match="color_of_van"):
        v.ask("color_of_van")
    assert isinstance(v.scene, Scene)
