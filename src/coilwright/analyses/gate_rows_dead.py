"""The gates of the dead set: drained, insulation, bonds, winding resistances, stick and disconnections."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import log, sqrt

from coilwright.analyses.charge import TOUCH_DC
from coilwright.analyses.facts_of_people import counting_bond
from coilwright.analyses.facts_of_shelf import counting_insulation
from coilwright.analyses.gate_bench import COVERAGE, GateBench, judged, with_read
from coilwright.analyses.gates_results import ChargeRow, Gate, GateRow
from coilwright.analyses.tank import tank_capacitance
from coilwright.analyses.topology import is_earthed
from coilwright.measurement.readings import mark_of
from coilwright.model.known import Known, Mark
from coilwright.model.parts import Choke, Transformer
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.energy import stored_energy
from coilwright.protection.rules_capacitor import MAINS_TOLERANCE
from coilwright.protection.rules_shelf import INSULATION_LEAST
from coilwright.protection.rules_stress import BOND_LIMIT, BOND_TEST_CURRENT
from coilwright.protection.wording import amperes, farads, joules, listed, ohms, seconds, volts, volts_peak

AT_THE_SET = "at the set"
#: Touch voltage that a TT system may let stand [V]: IEC 60364-4-41 cl. 411.5.3, from memory.
TT_VOLTS = 50.0
#: What dry old iron shows or passes (common practice, no source).
DRY = 100e6
INSULATION_SOURCE = "IEC 60364-6 table 6A (500 V DC, 1 Mohm), from memory"
BOND_SOURCE = "IEC 60364-6 (200 mA), from memory; 0.1 ohm: IEC 60335-1 cl. 27.5, from memory"
#: Iron and copper are taken to be within so many kelvin of 20 degC when their resistance is read again.
ROOM_SPREAD = 10.0
COPPER = 1 / (234.5 + 20.0)  # relative change per kelvin of copper at 20 degC, IEC 60076-1, from memory
#: Spread of a written resistance without a tolerance, and of one half of a winding known as a whole, 95 %.
WRITTEN, HALF = 0.05, 0.15
#: The stick takes the largest capacitor to 60 V DC within so many seconds, with at most so much current (our choice).
STICK_SECONDS, STICK_CURRENT = 5.0, 1.0


def drained_gate(bench: GateBench, charge: tuple[ChargeRow, ...]) -> Gate:
    """Return the first gate: everything apart, drained, proved dead."""
    rows = []
    peak = sqrt(2) * MAINS_TOLERANCE * bench.design.site.mains_voltage.value
    tester = bench.instrument("voltage", peak, f"a two-pole tester for {volts(peak)} DC")
    for c in charge:
        if c.place == "correction":
            row = GateRow(
                f"{c.where} drained", f"across {c.where}, after the wait and the stick", 0.0, None, TOUCH_DC, "V",
                tester, basis="60 V DC touch limit, EN 50191, from memory", note=_waits(c),
            )  # fmt: skip
            rows.append(judged(row, bench.reading("voltage", row.id)))
    ticks = [
        f"{c.where}: drained through the stick and shorted with a lead of its own"
        + (f", all {c.units} of them, unit by unit; no meter on it" if c.units > 1 else "")
        + (f" ({farads(c.capacitance)}, up to {volts_peak(c.peak)})" if c.peak is not None else " (volts not known)")
        for c in charge
        if c.place != "correction"
    ]
    return Gate(
        "drained", 1, "Drained and apart",
        (
            CATALOGUE["isolate-drain-short"].what,
            ("First read the stick, tip to clamp, with an ohmmeter: within the band of the gate of disconnections. "
            "An open stick drains nothing, and shows nothing."),
            ("Prove the tester on a known source; read each mains-side capacitor after its wait, before a short "
            "goes on, so that a dead bleeder shows; then stick, short, read, and prove the tester again."),
            "Take the tank off the output, and leads that the tests below name off their joints, one at a time.",
            CATALOGUE["string-zero-is-not-dead"].what + " Never a screwdriver: it welds, spatters and drains too fast.",
        ),
        (
            "Volts that come back after the short is taken off are dielectric absorption: leave the short on.",
            "Volts that do not fall: bleeder open, stick open, or the set is not isolated. Stop and find which.",
        ),
        0.0, AT_THE_SET, tuple(rows),
        ("plug out or isolator locked, plug in sight, key on you", *ticks),
        source="EN 50110-1, from memory",
    )  # fmt: skip


def _waits(c: ChargeRow) -> str:
    if c.fitted is None:
        return "no bleeder: it holds its charge for hours; the stick alone drains it"
    if c.drain is None or c.residual is None:
        return ""
    return f"bleeder {ohms(c.fitted)}: {volts(c.residual)} after {seconds(c.drain)}, if it is whole"


def insulation_gate(bench: GateBench) -> Gate:
    """Return the insulation gate: primary to core, and high to core only where no end is tied."""
    rows: list[GateRow] = []
    tied = []
    for name in bench.w.of(Transformer):
        part = bench.w.part(name)
        if not isinstance(part, Transformer):
            continue
        pairs = [("primary", "core")]
        if bench.w.kept_tie(name) == "none":
            pairs.append(("high", "core"))
        else:
            tied.append(name)
        rows += [_insulation_row(name, part, pair) for pair in pairs]
    notes = [
        ("Everything off the winding; its two ends joined; 500 V DC for a minute, then drain it through the tester."),
        CATALOGUE["dc-kick"].do,
    ]
    if tied:
        notes.append(
            f"High winding to core is not tested on {listed(tied)}: an end is tied to the core, so it reads 0. The "
            "500 V DC on the primary tests the high winding against the primary as well there."
        )
    return Gate(
        "insulation", 2, "Insulation, 500 V DC", tuple(notes),
        (
            "Below 1 Mohm: carbonised, wet, or scraped by punching shunts out. Not to be used, nor dried with mains.",
            ("Between 1 and 100 Mohm: damp or dirt. Clean it, dry it warm for a day, read again; if it does not rise, "
            "leave it out."),
        ),
        0.0, "at the set; nobody touches the part while the test is on", tuple(rows), source=INSULATION_SOURCE,
    )  # fmt: skip


def _insulation_row(name: str, part: Transformer, pair: tuple[str, str]) -> GateRow:
    tests = [t for t in part.insulation_test if set(t.between) == set(pair)]
    testers = [t.stamp.instrument for t in tests if t.stamp.instrument]
    old = "" if part.made is None else f"made {part.made}; "
    row = GateRow(
        f"{name}.{pair[0]}-{pair[1]}", f"{name} {pair[0]} to {pair[1]}", None, INSULATION_LEAST, None, "ohm",
        testers[-1] if testers else "an insulation tester, 500 V DC", basis=INSULATION_SOURCE,
        note=f"{old}dry old iron shows 100 Mohm or more (common practice, no source)",
    )  # fmt: skip
    test = counting_insulation(part, frozenset(pair))
    if test is None:
        low = f"; tested with {volts(max(t.applied for t in tests))} only, which does not count" if tests else ""
        return replace(row, note=row.note + low)
    return with_read(row, test.resistance.value, mark_of(test.stamp))


def bond_gate(bench: GateBench) -> Gate:
    """Return the bond gate: every core to the earth joint, with a current that shows a bad joint."""
    testers = {
        t.stamp.instrument
        for t_ in bench.design.transformers
        for t in t_.bond_test
        if t.current >= BOND_TEST_CURRENT and t.stamp.instrument
    }
    tester = next((i.id for i in bench.design.instruments if i.id in testers), None)
    rows = []
    for name in bench.w.of(Transformer):
        part = bench.w.part(name)
        if not isinstance(part, Transformer):
            continue
        earthed, test = is_earthed(bench.w, name), counting_bond(part.bond_test)
        row = GateRow(
            f"{name}.core", f"core of {name} to the protective conductor's pin", None, None, BOND_LIMIT, "ohm",
            tester or f"a bond tester for {amperes(BOND_TEST_CURRENT)} or more", basis=BOND_SOURCE,
            note="" if earthed else "this core has no joint to earth as wired",
        )  # fmt: skip
        if test is not None and test.current >= BOND_TEST_CURRENT:
            row = with_read(row, test.resistance.value, mark_of(test.stamp))
        elif test is not None:
            row = replace(row, note=f"{row.note} read with {amperes(test.current)} only, which does not count".strip())
        if not earthed and bench.w.kept_tie(name) != "none":
            row = replace(row, verdict="outside")
        rows.append(row)
    rows += _electrode(bench)
    return Gate(
        "bonds", 3, "Bonds",
        (
            ("From bare iron of each core to the earth pin of the plug, or to the earth terminal of the isolator, "
            f"{amperes(BOND_TEST_CURRENT)} or more; wiggle the "
            "lead while reading. Zero the leads first."),
            "Two bonds on each core: read each with the other one off.",
        ),
        (("Above 0.1 ohm, or a reading that moves: paint or rust under the lug, a broken strand. With its bond open "
         "the core rises to the output."),),
        0.0, AT_THE_SET, tuple(rows), ("both bonds of each core read one at a time",), source=BOND_SOURCE,
    )  # fmt: skip


def _electrode(bench: GateBench) -> Iterator[GateRow]:
    """Yield the place's own earth where the set hangs on a rod (TT): R_A x I_trip within 50 V, IEC 60364-4-41, cl.
    411.5.3, from memory. Neither a bond tester nor a multimeter reads it.
    """
    site = bench.design.site
    if site.earthing.value != "TT":
        return
    trip = site.rcd.value
    most = None if trip is None else TT_VOLTS / trip
    yield GateRow(
        "electrode", "earth of the place (TT): resistance of its rod", None, None, most, "ohm",
        "an earth tester, in the hands of an electrician", basis="IEC 60364-4-41 cl. 411.5.3, from memory",
        verdict="not known" if most is None else "open",
        note="TT without a residual-current device: an electrician first" if most is None else "",
    )  # fmt: skip


def resistance_gate(bench: GateBench) -> Gate:
    """Return the gate of the winding resistances, halves too, against what the project says of them."""
    rows: list[GateRow] = []
    meter = _ohmmeter(bench)
    for name in (*bench.w.of(Transformer), *bench.w.of(Choke)):
        part = bench.w.part(name)
        if isinstance(part, Choke):
            words = f"choke {name}"
            if part.settings:  # a tapped winding: what is written holds for the tap that is wired
                words += f", at the setting in use of {listed(amperes(s) for s in part.settings)}"
            rows += _resistance(bench, name, words, part.resistance, part.id, "resistance", meter)
        elif isinstance(part, Transformer):
            rows += _resistance(
                bench, f"{name}.primary", f"{name} primary", part.primary_resistance, part.id, "primary_resistance",
                meter,
            )  # fmt: skip
            rows += _high_rows(bench, name, part, meter)
    return Gate(
        "resistances", 4, "Winding resistances",
        (
            "Cold, at room temperature, leads zeroed; the winding off its joints or nothing parallel to it.",
            f"{CATALOGUE['dc-kick'].what} {CATALOGUE['dc-kick'].do} Take the leads off one hand at a time.",
        ),
        (
            "Far lower: shorted turns, or a joint that bridges the winding. Higher or open: bad joint, broken lead.",
            "One half that differs from the other: shorted turns, or the tap is not where it was thought to be.",
            "A few shorted turns do not show here: the no-load current at reduced volts does.",
        ),
        0.0, AT_THE_SET, tuple(rows), source="as written in the project; copper 234.5 + t, IEC 60076-1, from memory",
    )  # fmt: skip


def _ohmmeter(bench: GateBench) -> str:
    """Return an ohmmeter: not what was used as bond tester, whose current and range are for hundredths of an ohm."""
    testers = frozenset(
        t.stamp.instrument for part in bench.design.transformers for t in part.bond_test if t.stamp.instrument
    )
    return bench.instrument("resistance", 0.0, "an ohmmeter", apart=testers)


def _high_rows(bench: GateBench, name: str, part: Transformer, meter: str) -> Iterator[GateRow]:
    tied = bench.w.tied.get(name, "none")
    halves = part.secondary_resistance_halves
    if halves is None and tied != "tap":
        yield from _resistance(
            bench, f"{name}.high", f"{name} high winding, end to end", part.secondary_resistance, part.id,
            "secondary_resistance", meter,
        )  # fmt: skip
        return
    whole = part.secondary_resistance
    for k, end in enumerate(("start", "finish")):
        own = halves[k] if halves is not None else None
        if own is None and whole is not None:
            half = whole.value / 2
            own = Known(half, "pencil", half * (1 - HALF), half * (1 + HALF), "half of the whole: halves not written")
        words = f"{name} high winding, {end} to tap"
        yield from _resistance(bench, f"{name}.high {end}", words, own, part.id, "secondary_resistance", meter, 0.5)


def _resistance(
    bench: GateBench,
    id: str,
    words: str,
    own: Known[float] | None,
    part: str,
    key: str,
    meter: str,
    share: float = 1.0,
) -> Iterator[GateRow]:
    """Yield the row of one winding: as written, else as the part's fit assumes it, else without an expected value."""
    fitted = bench.shelf.parts[part].values.get(key)
    value: float | None = None
    mark: Mark | None = None
    low = high = 0.0
    basis = ""
    if own is not None:
        value, mark, basis = own.value, own.mark, own.basis or "as written, cold"
        low = own.low if own.low is not None else value * (1 - WRITTEN)
        high = own.high if own.high is not None else value * (1 + WRITTEN)
    elif fitted is not None:
        value, mark, basis = fitted.value * share, fitted.mark, fitted.basis
        low, high = fitted.low * share, fitted.high * share
    if value is None:
        yield GateRow(
            id, words, None, None, None, "ohm", meter, verdict="not known", note="write it down: none is known yet"
        )
        return
    more = (COVERAGE * bench.meter(meter, "resistance", value)) ** 2 + (ROOM_SPREAD * COPPER * value) ** 2
    row = GateRow(
        id, words, value, max(0.0, value - sqrt((value - low) ** 2 + more)),
        value + sqrt((high - value) ** 2 + more), "ohm", meter, mark, basis,
    )  # fmt: skip
    yield judged(row, bench.reading("resistance", id))


def stick_gate(bench: GateBench, charge: tuple[ChargeRow, ...]) -> Gate:
    """Return the gate of the discharge stick, sized for what is there, and of the two disconnections."""
    rows = tuple(_stick_rows(bench, [(c, c.peak) for c in charge if c.peak is not None and c.peak > TOUCH_DC]))
    stated = bench.design.protection.disconnections if bench.design.protection else None
    means = "not stated in the project" if stated is None else f"{stated} stated in the project"
    return Gate(
        "disconnections", 6, "Discharge stick and two disconnections",
        (
            ("Stick: resistors in series in an insulating tube as long as an arm; clamp to earth first, tip last; "
            "read it from tip to clamp before each use."),
            ("Each means alone, pole by pole, everything else on: a plug-in set with its plug out, an ohmmeter from "
            "each pin to the set's own joint reads about 0 ohm closed and open when off. Behind fixed wiring its "
            "supply side stays live: an electrician proves each pole with a two-pole tester. A lamp across two poles "
            "goes out although one of them has welded: it proves neither."),
            "The plug or isolator is in sight and can be locked. Stop button: releasing it does not switch on again.",
        ),
        ("A pole that stays joined: a welded contact or a single-pole switch. Nothing goes on until both cut all.",),
        0.0, AT_THE_SET, rows,
        (
            f"first means of disconnection tried ({means})",
            "second means of disconnection tried, with the first one left on",
            "stick tried: its clamp holds, its resistor reads as expected",
        ),
        source="EN 50191 and EN ISO 13850, from memory",
    )  # fmt: skip


def _stick_rows(bench: GateBench, known: list[tuple[ChargeRow, float]]) -> Iterator[GateRow]:
    """Yield the stick's resistance: at most so much current at the highest volts, each capacitor drained in seconds."""
    if not known:
        return
    missing = bench.supply.gap_missing
    whole = missing.own.peak if missing is not None and missing.own is not None and missing.own.exact else 0.0
    highest = max(whole, *(peak for _, peak in known))
    least = highest / STICK_CURRENT
    loads = list(_loads(bench, known, whole))
    most = min(STICK_SECONDS / (x.capacitance * log(x.peak / TOUCH_DC)) for x in loads)
    worst = max(loads, key=lambda x: x.energy)
    words = "discharge stick, tip to clamp"
    if least > most:
        note = (
            f"no one value suits all: two sticks, one of {ohms(least)} or more for {volts_peak(highest)}, one of "
            f"{ohms(most)} or less for the largest capacitor"
        )
        yield GateRow("stick", words, None, None, None, "ohm", "an ohmmeter", verdict="not known", note=note)
        return
    note = (
        f"{amperes(STICK_CURRENT)} at most from {volts_peak(highest)}, which it must stand; {volts(TOUCH_DC)} within "
        f"{seconds(STICK_SECONDS)} on each capacitor (our choice); it takes up the {joules(worst.energy)} of "
        f"{worst.where}, the most that it meets at once"
    )
    row = GateRow(
        "stick", words, sqrt(least * most), least, most, "ohm", _ohmmeter(bench), "pencil",
        "volts and capacitances of this set", note=note,
    )  # fmt: skip
    yield judged(row, bench.reading("resistance", "stick"))


@dataclass(frozen=True)
class _Load:
    """What the stick drains at once: ``where`` in words, what it holds [F, V]."""

    where: str
    capacitance: float
    peak: float

    @property
    def energy(self) -> float:
        return stored_energy(self.capacitance, self.peak)


def _loads(bench: GateBench, known: list[tuple[ChargeRow, float]], whole: float) -> Iterator[_Load]:
    """Yield each capacitor, those that lie in parallel together, and the tank whole at the peak across it [V] where
    that is known.
    """
    beside: dict[frozenset[str], list[tuple[ChargeRow, float]]] = {}
    for c, peak in known:
        yield _Load(c.where, c.capacitance, peak)
        ends = [f"{c.where}.{e}" for e in ("a", "b")]
        if all(t in bench.w.joint_of for t in ends):
            beside.setdefault(frozenset(map(bench.w.node, ends)), []).append((c, peak))
    for group in beside.values():
        if len(group) > 1:
            together = sum(c.capacitance for c, _ in group)
            yield _Load(f"{listed(c.where for c, _ in group)} in parallel", together, max(p for _, p in group))
    farads = tank_capacitance(bench.design)
    if farads is not None and whole > TOUCH_DC:
        yield _Load("the whole tank", farads, whole)
