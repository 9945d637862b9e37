"""Every key of the project file is read into the Design, in SI, with its mark. Two files between them use every key."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.project.load import Loaded, load
from coilwright.project.schema import FileSpec, table_at
from coilwright.project.schema_base import Table

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="module")
def loaded() -> Loaded:
    return load(DATA / "every_key.coil.toml")


@pytest.fixture(scope="module")
def other() -> Design:
    return load(DATA / "alternatives.coil.toml").design


def at(root: Any, path: str) -> Any:
    """Follow ``transformers[0].mass`` through attributes, indices and keys."""
    for step in path.replace("[", ".[").split("."):
        if step.startswith("["):
            root = root[int(step[1:-1])]
        else:
            root = root[step] if isinstance(root, dict) else getattr(root, step)
    return root.value if isinstance(root, Known) else root


EXPECTED = [
    ("name", "Every key"),
    ("notes", "Invented."),
    ("site.mains_voltage", 231.0),
    ("site.frequency", 50.0),
    ("site.mains_resistance", 0.35),
    ("site.mains_inductance", 180e-6),
    ("site.breaker.value.rated_current", 16.0),
    ("site.breaker.value.curve", "B"),
    ("site.rcd", 0.03),
    ("site.system", "split phase"),
    ("site.earthing", "TN"),
    ("site.plug", "as marked"),
    ("site.altitude", 250.0),
    ("site.air.temperature", 291.15),
    ("site.air.pressure", 99000.0),
    ("site.air.humidity", 0.6),
    ("site.room.ceiling", 2.6),
    ("site.room.wall_distance", 1.5),
    ("site.room.length", 5.0),
    ("site.room.width", 4.0),
    ("site.room.outdoors", False),
    ("goal.power", 800.0),
    ("goal.voltage_low", 4000.0),
    ("goal.voltage_high", 12000.0),
    ("goal.secondary_height", 0.45),
    ("goal.spark_length", 0.5),
    ("goal.mains_current", 13.0),
    ("goal.budget", 100.0),
    ("goal.use", ("T1",)),
    ("goal.avoid", ("T2",)),
    ("goal.on_time", 60.0),
    ("instruments[0].id", "clamp"),
    ("instruments[0].accuracy.current.relative", 0.015),
    ("instruments[0].accuracy.voltage.absolute", 0.03),
    ("instruments[0].accuracy.power.relative", 0.03),
    ("instruments[0].response", "average"),
    ("instruments[0].rating", 600.0),
    ("instruments[0].notes", "borrowed"),
    ("instruments[1].accuracy.resistance.absolute", 0.002),
    ("instruments[1].accuracy.capacitance.relative", 0.01),
    ("instruments[1].accuracy.inductance.relative", 0.01),
    ("instruments[1].accuracy.frequency.relative", 0.001),
    ("instruments[1].accuracy.temperature.absolute", 2.0),
    ("instruments[1].accuracy.length.absolute", 1e-4),
    ("instruments[1].accuracy.mass.absolute", 0.005),
    ("instruments[1].accuracy.time.relative", 0.01),
    ("transformers[0].kind", "oven"),
    ("transformers[0].plate_primary", 230.0),
    ("transformers[0].plate_secondary", 2100.0),
    ("transformers[0].plate_power", 1000.0),
    ("transformers[0].plate_current", 0.48),
    ("transformers[0].plate_frequency", 50.0),
    ("transformers[0].primary_resistance", 0.82),
    ("transformers[0].secondary_resistance", 90.0),
    ("transformers[0].core_end", "finish"),
    ("transformers[0].core_end_liftable", "unknown"),
    ("transformers[0].inner_end", "finish"),
    ("transformers[0].open_test[0].applied.value", 230.0),
    ("transformers[0].open_test[0].current.value", 1.82),
    ("transformers[0].open_test[0].power.value", 51.0),
    ("transformers[0].open_test[0].secondary.value", 2080.0),
    ("transformers[0].open_test[0].secondary.tolerance", 41.6),
    ("transformers[0].open_test[0].stamp.instrument", "probe"),
    ("transformers[0].open_test[0].stamp.date", dt.date(2026, 3, 1)),
    ("transformers[0].open_test[0].stamp.by", "me"),
    ("transformers[0].short_test[0].applied.value", 40.0),
    ("transformers[0].short_test[0].current.value", 2.66),
    ("transformers[0].short_test[0].power.value", 17.2),
    ("transformers[0].short_test[0].secondary_current.value", 0.262),
    ("transformers[0].low_voltage_test[0].fed", "high"),
    ("transformers[0].low_voltage_test[0].applied.value", 24.0),
    ("transformers[0].low_voltage_test[0].read.value", 2.35),
    ("transformers[0].low_voltage_test[1].fed", "low"),
    ("transformers[0].low_voltage_test[1].applied.value", 3.0),
    ("transformers[0].low_voltage_test[1].read.value", 26.8),
    ("transformers[0].insulation.primary_to_core", 500.0),
    ("transformers[0].insulation.high_to_core", 2300.0),
    ("transformers[0].insulation.high_inner_to_core", 0.0),
    ("transformers[0].proof_test[0].between", ("high", "core")),
    ("transformers[0].proof_test[0].applied", 5600.0),
    ("transformers[0].proof_test[0].duration", 60.0),
    ("transformers[0].proof_test[0].method", "induced"),
    ("transformers[0].proof_test[0].stamp.by", "a test house"),
    ("transformers[0].core.limb_area", 12e-4),
    ("transformers[0].core.window_width", 0.02),
    ("transformers[0].core.shunt_area", 2e-4),
    ("transformers[0].core.shunt_gap", 1e-3),
    ("transformers[0].capacitance.high_to_core", 0.8e-9),
    ("transformers[0].capacitance.primary_to_core", 0.4e-9),
    ("transformers[0].capacitance.high_to_primary", 0.2e-9),
    ("transformers[0].insulation_test[0].between", ("primary", "core")),
    ("transformers[0].insulation_test[0].applied", 500.0),
    ("transformers[0].insulation_test[0].resistance.value", 2e9),
    ("transformers[0].bond_test[0].current", 0.2),
    ("transformers[0].bond_test[0].resistance.value", 0.05),
    ("transformers[0].shunts", "as built"),
    ("transformers[0].filling", "none"),
    ("transformers[0].made", 1978),
    ("transformers[0].secondary_protection", "none"),
    ("transformers[0].mass", 4.5),
    ("transformers[0].surface", 0.09),
    ("transformers[0].price", 12.5),
    ("transformers[0].count", 1),
    ("transformers[0].notes", "from a skip"),
    ("transformers[1].secondary_resistance_halves[0]", 3900.0),
    ("transformers[1].secondary_resistance_halves[1]", 4000.0),
    ("chokes[0].resistance", 1.6),
    ("chokes[0].current", 4.6),
    ("chokes[0].test[0].voltage.value", 185.0),
    ("chokes[0].test[0].current.value", 4.6),
    ("chokes[0].test[0].power.value", 28.0),
    ("chokes[0].gap_ratio", 1.5),
    ("chokes[0].lamp", "sodium 400 W"),
    ("chokes[0].settings", (60.0, 90.0)),
    ("chokes[0].mass", 5.1),
    ("chokes[0].surface", 0.06),
    ("chokes[0].temperature_test[0].current", 4.6),
    ("chokes[0].temperature_test[0].minutes", 1800.0),
    ("chokes[0].temperature_test[0].rise.value", 45.0),
    ("chokes[0].temperature_test[1].minutes", 7200.0),
    ("chokes[0].core.leg_area", 6e-4),
    ("chokes[0].core.gap", 1e-3),
    ("chokes[0].price", 3.0),
    ("chokes[0].count", 2),
    ("chokes[0].notes", ""),
    ("capacitors[0].use", "power factor"),
    ("capacitors[0].kind", "oven"),
    ("capacitors[0].value", 40e-6),
    ("capacitors[0].rated", 450.0),
    ("capacitors[0].rated_kind", "AC"),
    ("capacitors[0].bleeder", 270e3),
    ("capacitors[0].made", 2015),
    ("capacitors[0].count", 32),
    ("capacitors[0].dielectric", "polypropylene"),
    ("capacitors[0].loss", 0.001),
    ("capacitors[0].dv_dt", 50e6),
    ("capacitors[0].esr", 0.012),
    ("capacitors[0].ripple_current", 8.0),
    ("capacitors[0].tolerance", 0.05),
    ("capacitors[0].size[0]", 41.5e-3),
    ("capacitors[0].size[1]", 20e-3),
    ("capacitors[0].size[2]", 39.5e-3),
    ("capacitors[0].lead_pitch", 37.5e-3),
    ("capacitors[0].price", 4.0),
    ("capacitors[0].notes", "snubber"),
    ("resistors[0].resistance", 1500.0),
    ("resistors[0].power", 50.0),
    ("resistors[0].voltage", 2500.0),
    ("resistors[0].count", 3),
    ("resistors[0].price", 2.0),
    ("resistors[0].notes", "wirewound"),
    ("variables[0].voltage", 230.0),
    ("variables[0].current", 8.0),
    ("variables[0].setting", 0.8),
    ("variables[0].price", 40.0),
    ("variables[0].count", 1),
    ("variables[0].notes", "no isolation"),
    ("wires[0].diameter", 0.4049e-3),
    ("wires[0].grade", 1),
    ("wires[0].length", 400.0),
    ("wires[0].mass", 0.544311),
    ("wires[0].price", 15.0),
    ("wires[0].notes", "new"),
    ("formers[0].outside_diameter", 0.11),
    ("formers[0].wall", 2.38125e-3),
    ("formers[0].length", 0.6),
    ("formers[0].material", "PVC"),
    ("formers[0].price", 5.0),
    ("formers[0].notes", "drain pipe"),
    ("tops[0].id", "D1"),
    ("tops[0].form", "toroid"),
    ("tops[0].ring_diameter", 0.3),
    ("tops[0].tube_diameter", 0.1),
    ("tops[0].diameter", 0.4),
    ("tops[0].price", 9.0),
    ("tops[0].notes", "duct"),
    ("arrangements[0].name", "one, midpoint earthed"),
    ("arrangements[0].output", ("hot", "ground")),
    ("arrangements[0].reversed", ("T1.heater",)),
    ("arrangements[0].lifted", ()),
    ("arrangements[0].shorted", ("T2.high",)),
    ("arrangements[0].joints.hot", ("T1.high_start", "R1.1.a")),
    ("use_arrangement", "one, midpoint earthed"),
    ("tank.strings.part", "C2"),
    ("tank.strings.series", 8),
    ("tank.strings.parallel", 4),
    ("tank.strings.bleeder", 10e6),
    ("gap.kind", "synchronous rotary"),
    ("gap.electrode.form", "rod"),
    ("gap.electrode.diameter", 0.01),
    ("gap.spacing", 1e-3),
    ("gap.segments", 4),
    ("gap.speed", 50.0),
    ("gap.presentations", 8),
    ("gap.phase", math.radians(20)),
    ("gap.electrode_radius", 0.09),
    ("gap.electrode_mass", 0.02),
    ("gap.dwell", 120e-6),
    ("gap.electrode_material", "brass"),
    ("gap.disc.material", "glass-epoxy"),
    ("gap.disc.diameter", 0.22),
    ("gap.disc.thickness", 10e-3),
    ("gap.disc.bore", 12e-3),
    ("gap.bolt", 6e-3),
    ("gap.shield.material", "steel"),
    ("gap.shield.thickness", 3e-3),
    ("gap.shield.all_round", True),
    ("gap.motor_speed_max", 60.0),
    ("coil.primary.form", "cone"),
    ("coil.primary.inner_diameter", 0.18),
    ("coil.primary.pitch", 12.5e-3),
    ("coil.primary.turns", 12.0),
    ("coil.primary.conductor_diameter", 6e-3),
    ("coil.primary.elevation", -5e-3),
    ("coil.primary.cone_angle", math.radians(30)),
    ("coil.primary.tap", None),
    ("coil.secondary.former", "F1"),
    ("coil.secondary.turns", 1000.0),
    ("coil.secondary.wire", "W1"),
    ("coil.secondary.pitch", 0.5e-3),
    ("coil.secondary.base_elevation", 0.25),
    ("coil.top_loads[0].id", "D1"),
    ("coil.top_loads[0].form", "toroid"),
    ("coil.top_loads[0].ring_diameter", 0.3),
    ("coil.top_loads[0].elevation", 0.1),
    ("coil.surroundings[0].form", "strike rail"),
    ("coil.surroundings[0].ring_diameter", 0.56),
    ("coil.surroundings[0].conductor_diameter", 6e-3),
    ("coil.surroundings[0].diameter", 1.0),
    ("coil.surroundings[0].height", 2.0),
    ("coil.surroundings[0].elevation", 0.05),
    ("coil.surroundings[0].closed", False),
    ("earth.rf_ground_resistance", 15.0),
    ("earth.rod", "own"),
    ("earth.ground_plane", False),
    ("earth.magnetic_plane", True),
    ("protection.safety_gap_spacing", 0.6e-3),
    ("protection.second_protective_conductor", True),
    ("protection.disconnections", 2),
    ("protection.filter.resistance", 1000.0),
    ("protection.filter.capacitance", 500e-12),
    ("protection.bleeder.resistance", 50e6),
    ("protection.bleeder.power", 5.0),
    ("protection.fuse", "6.3 A T"),
    ("protection.interlock", True),
    ("answers[0].tag", "keep-out"),
    ("answers[0].reason", "It will run outdoors."),
    ("answers[0].date", dt.date(2026, 3, 3)),
    ("readings[0].what", "secondary resonance"),
    ("readings[0].where", "bare"),
    ("readings[0].value", 243.1e3),
    ("readings[0].tolerance", 500.0),
    ("readings[0].unit", "Hz"),
    ("readings[0].instrument", "lcr"),
    ("readings[0].date", dt.date(2026, 3, 14)),
    ("readings[0].notes", "first winding"),
    ("readings[1].drive.voltage", 12.0),
    ("readings[1].drive.between", ("hot", "ground")),
    ("readings[1].where", ("fed", "ground")),
    ("readings[1].value", 9.8),
    ("readings[1].unit", "V"),
    ("readings[2].value", 231e3),
    ("readings[2].upper", 257e3),
]

ALTERNATIVES = [
    ("site.breaker.value.rated_current", 15.0),
    ("site.breaker.value.curve", None),
    ("site.rcd", None),
    ("site.room.outdoors", True),
    ("capacitors[0].value", 0.2e-6),
    ("capacitors[0].bleeder", None),
    ("capacitors[0].loss", 0.002),
    ("variables[0].setting", 0.5),
    ("tank.plates.form", "flat"),
    ("tank.plates.dielectric", "polyethylene"),
    ("tank.plates.thickness", 3e-3),
    ("tank.plates.area", 0.09),
    ("tank.plates.count", 12),
    ("gap.voltage", 4000.0),
    ("coil.primary.tap", 7.5),
    ("coil.secondary.winding_diameter", 0.11),
    ("coil.secondary.wire_diameter", 0.4e-3),
    ("coil.top_loads[0].diameter", 0.3048),
    ("coil.top_loads[0].tube_diameter", 0.1016),
    ("protection.safety_gap_voltage", 3000.0),
    ("protection.safety_gap_spacing", None),
    ("readings[0].value", 180.0),
    ("readings[1].value", 341.15),
    ("readings[1].where", "B1"),
]


def same(found: object, expected: object) -> bool:
    return found == (pytest.approx(expected, rel=1e-4) if isinstance(expected, float) else expected)


@pytest.mark.parametrize(("path", "value"), EXPECTED)
def test_each_key_reaches_the_design(loaded: Loaded, path: str, value: object) -> None:
    assert same(at(loaded.design, path), value)


@pytest.mark.parametrize(("path", "value"), ALTERNATIVES)
def test_each_alternative_reaches_the_design(other: Design, path: str, value: object) -> None:
    assert same(at(other, path), value)


def test_a_tank_by_its_capacitance(loaded: Loaded) -> None:
    from coilwright.project.edit import edit
    from coilwright.project.load import read_text

    text = edit(loaded.text, {"tank.strings": None, "tank.capacitance": "12 nF"})
    assert at(read_text(text)[0], "tank.capacitance") == pytest.approx(12e-9)


def test_the_two_files_use_every_key_of_the_schema() -> None:
    used: set[tuple[str, ...]] = {("tank", "capacitance")}  # in the test above

    def walk(data: dict[str, Any], path: tuple[str, ...]) -> None:
        for key, value in data.items():
            used.add((*path, key))
            for item in value if isinstance(value, list) else [value]:
                if isinstance(item, dict):
                    walk(item, (*path, key))

    for name in ("every_key", "alternatives"):
        walk(tomllib.loads((DATA / f"{name}.coil.toml").read_text(encoding="utf-8")), ())
    known: set[tuple[str, ...]] = set()

    def keys(table: type[Table], path: tuple[str, ...], steps: tuple[str | int, ...]) -> None:
        for key in table.model_fields:
            known.add((*path, key))
            inner = table_at((*steps, key)) or table_at((*steps, key, 0))
            if inner is not None:
                keys(inner, (*path, key), (*steps, key) if table_at((*steps, key)) else (*steps, key, 0))

    keys(FileSpec, (), ())
    assert len(known) > 250
    # rows of readings inherit these three from one class; the fixture uses them in some kinds of row
    rows_alike = {p for p in known if p[-1] in {"instrument", "date", "by"}}
    assert sorted(known - used - rows_alike) == []


def test_marks(loaded: Loaded) -> None:
    site, unit = loaded.design.site, loaded.design.transformers[0]
    assert site.mains_voltage.mark == "stamped"
    assert (site.mains_voltage.low, site.mains_voltage.high) == (pytest.approx(228.69), pytest.approx(233.31))
    assert "clamp" in site.mains_voltage.basis
    assert site.frequency.mark == "ink"
    assert unit.primary_resistance is not None
    assert unit.primary_resistance.mark == "stamped"
    # no uncertainty beside it: the instrument's own, 0.5 % + 2 mohm
    assert unit.primary_resistance.low == pytest.approx(0.82 - 0.0041 - 0.002)
    assert unit.insulation is not None
    assert {k.mark for k in unit.insulation.values()} == {"ink"}
    assert site.mains_resistance.low == pytest.approx(0.30)


def test_a_silent_file_is_pencil() -> None:
    from coilwright.project.load import read_text

    site = read_text("format = 1\n")[0].site
    for known in (
        site.mains_voltage,
        site.frequency,
        site.mains_resistance,
        site.mains_inductance,
        site.breaker,
        site.rcd,
        site.system,
        site.earthing,
        site.plug,
        site.altitude,
        site.air.temperature,
        site.air.humidity,
    ):
        assert known.mark == "pencil"
        assert known.basis
    assert (site.mains_voltage.value, site.frequency.value) == (230.0, 50.0)
    assert (site.mains_resistance.value, site.mains_inductance.value) == (0.35, 0.2e-3)
    assert (site.breaker.value.rated_current, site.breaker.value.curve) == (16.0, "B")
    # what protects people is never assumed
    assert site.rcd.value is None
    assert (site.earthing.value, site.plug.value) == ("unknown", "unknown")


def test_a_120_volt_site_is_taken_for_60_hertz() -> None:
    from coilwright.project.load import read_text

    # common practice, no source: 120 V supplies run at 60 Hz and a socket circuit has a 15 A breaker
    for text in ('mains = "120 V"', 'mains = "240 V"\nsystem = "split phase"'):
        site = read_text(f"format = 1\n[site]\n{text}\n")[0].site
        assert (site.frequency.value, site.frequency.mark) == (60.0, "pencil")
        assert site.mains_resistance.value == 0.2
        assert (site.breaker.value.rated_current, site.breaker.value.curve) == (15.0, None)


def test_a_sign_unit_that_is_silent_about_its_protection_is_unknown() -> None:
    from coilwright.project.load import read_text

    text = 'format = 1\n[[transformer]]\nid = "S1"\nkind = "sign"\n[[transformer]]\nid = "T1"\nkind = "oven"\n'
    sign, oven = read_text(text)[0].transformers
    assert (sign.secondary_protection, oven.secondary_protection) == ("unknown", "none")


def test_lines_and_digest_travel_with_the_design(loaded: Loaded) -> None:
    import hashlib

    raw = (DATA / "every_key.coil.toml").read_bytes()
    assert loaded.digest == loaded.design.digest == hashlib.sha256(raw).hexdigest()
    assert loaded.size == len(raw)
    rows = raw.decode().split("\n")
    assert (
        rows[loaded.design.lines["transformer[0].open_test[0].secondary"] - 1].strip().startswith('{ applied = "230 V"')
    )
    assert rows[(loaded.design.line_of("site.air.pressure") or 0) - 1].startswith("air =")


@pytest.mark.parametrize("keys", ['instrument = "m"', "date = 2026-03-01", ""])
def test_without_both_instrument_and_day_a_value_is_ink(keys: str) -> None:
    from coilwright.project.load import read_text

    value = f'{{ value = "0.3 ohm", {keys} }}' if keys else '"0.3 ohm"'
    known = read_text(f'format = 1\n[[instrument]]\nid = "m"\n[site]\nmains_resistance = {value}\n')[
        0
    ].site.mains_resistance
    assert (known.value, known.mark) == (0.3, "ink")
