"""The gates under power: open and shorted through the ballast at reduced volts, and the safety gap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import exp, sqrt

from coilwright.analyses.gate_bench import COVERAGE, GateBench, judged, with_read
from coilwright.analyses.gates_results import Gate, GateRow, SparkWindow
from coilwright.analyses.leg_ratings import leg_ratings
from coilwright.analyses.marks import mains_mark
from coilwright.analyses.missing_scan import highest_missing
from coilwright.analyses.safety_gap import (
    fitted_peak,
    is_set_by_firing,
    live_ends,
    open_end_peaks,
    scattered,
    site_air,
)
from coilwright.analyses.sides import correction_capacitors
from coilwright.errors import SolverError
from coilwright.model.known import Known, Mark, weakest
from coilwright.protection.body import keep_out_distance
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.safety_gap import GAP_MARGIN, SafetyWindow, spacing_of, window
from coilwright.protection.wording import amperes, listed, metres, volts_peak, volts_rms
from coilwright.supply.build import build
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.low_drive import at_low_flux
from coilwright.supply.network import Network
from coilwright.supply.operating import Operating, operating
from coilwright.supply.steady import rms, solve_networks

#: Shares of the mains at which the set is first read.
SHARES = (0.1, 0.3)
#: Magnetising inductance at those shares over the fitted one, and one standard deviation of its logarithm: it rises
#: from about half at a hundredth of the flux to all of it at rated flux (assumption).
LOW_FLUX: Mapping[float, tuple[float, float]] = {0.1: (0.75, 0.25), 0.3: (0.9, 0.12)}
#: The network against a real set, one standard deviation: core loss is not quite V^2 (assumption).
MODEL_CURRENT, MODEL_POWER = 0.02, 0.06
#: Impedance left ahead of the meter, which is where the volts are set [ohm, H]: next to none.
STIFF = (1e-3, 1e-7)
ORDER = 9


@dataclass(frozen=True)
class _Point:
    """What one test shows: mains-side current and power with half widths of their 95 % bands, highest volts inside."""

    current: float
    power: float
    current_half: float
    power_half: float
    ends: dict[str, float]


def reduced_gate(bench: GateBench) -> Gate:
    """Return the gate at reduced volts: open and shorted, read on the mains side of the set, correction off."""
    volts = bench.design.site.mains_voltage.value
    corrections = correction_capacitors(bench.w)
    meter = _mains_meter(bench, volts)
    rows: list[GateRow] = []
    inside: list[str] = []
    for share in SHARES:
        for name, load in (("open", None), ("shorted", 0.0)):
            row_id = f"{name} at {share * 100:.0f} %"
            try:
                point = _solve(bench, share, load, corrections)
            except SolverError:
                rows.append(_unsolved(row_id, meter))
                continue
            if load is None:
                inside += [f"{j} {volts_rms(v)} at {share * 100:.0f} %" for j, v in point.ends.items()]
            rows += _rows(bench, row_id, point, meter, share * volts)
    off = f" Correction capacitors off ({listed(sorted(corrections))}), drained." if corrections else ""
    distance = keep_out_distance(max((j.to_earth_peak for j in bench.supply.joints.values()), default=0.0), None)
    output = " and ".join(bench.w.arrangement.output)
    at = " and ".join(volts_rms(s * volts) for s in SHARES)
    return Gate(
        "reduced volts", 8, "Open and shorted through the ballast, at reduced volts",
        (
            f"Variable transformer ahead of the set, ballast in place, tank off.{off} {_variable_words(bench)}",
            f"Volts, amperes and watts are read where they enter the set, at {at}. Never a meter on the high side.",
            f"Open: nothing on {output}, guarded. To earth there stand then: " + "; ".join(inside) + "."
            if inside
            else "Open: nothing on the output, guarded.",
            f"Shorted: bolt {output} together and to the cores, dead, drained; then up again. "
            + CATALOGUE["short-test-opens"].do,
            "Down to zero, unplug, drain, short before anything is touched or changed.",
        ),
        (
            "Open current too high: shorted turns, a winding in the wrong place, a core that does not close.",
            "Open current far too low: an open primary, or the ballast sits where no current flows.",
            ("Shorted current too high: the ballast is bypassed or its gap has changed; too low: a bad joint, or a "
            "short that is not where it was thought to be."),
        ),
        distance, f"everyone {metres(distance)} away; one person at the variable transformer, which stands outside it",
        tuple(rows), ("tank off, correction capacitors off, short bolted", "guard in place before the plug goes in"),
        source="model; approach distance NFPA 70E Table 130.4",
    )  # fmt: skip


def _mains_meter(bench: GateBench, volts: float) -> str:
    found = bench.instrument("power", volts, f"a meter between variable transformer and set, for {volts_rms(volts)}")
    own = bench.design.instrument(found)
    if own is not None and "current" not in own.accuracy:
        return f"{found}, and an ammeter for {volts_rms(volts)}"
    return found


def _variable_words(bench: GateBench) -> str:
    """Return what the variable transformer must carry, and whether one in the project does."""
    most = bench.supply.short_circuit.mains_current_uncorrected or bench.supply.short_circuit.mains_current
    needed = max(SHARES) * most
    words = f"It must carry about {amperes(needed)} at its brush."
    own = [v for v in bench.design.variables if v.current is not None]
    weak = [v.id for v in own if v.current is not None and v.current.value < needed]
    strong = [v.id for v in own if v.current is not None and v.current.value >= needed]
    if strong:
        words += f" {strong[0]} is rated for that."
    elif weak:
        words += f" {listed(weak)} is not rated for that: stop where its rating is reached."
    return f"{words} {CATALOGUE['variable-not-isolating'].what}"


def _solve(bench: GateBench, share: float, load: float | None, corrections: frozenset[str]) -> _Point:
    """Solve one test, with the fit of each part moved by one standard deviation at a time, and the iron's low flux.

    Raises
    ------
    SolverError
        If the network itself has no converged answer.
    """
    mains = _scaled(bench.mains, share)
    factor, spread = LOW_FLUX[share]
    used = dict.fromkeys(n if n in bench.shelf.parts else n.rpartition(".")[0] for n in bench.w.instances)
    moved: list[Mapping[str, PartCircuit]] = [bench.circuits]
    moved += [{**bench.circuits, part: v} for part in used for v in bench.shelf.parts[part].spread]
    tests = [(c, factor) for c in moved] + [(bench.circuits, factor * exp(spread))]
    networks: list[Network] = []
    for circuits, f in tests:
        tired = {n: at_low_flux(c, f) for n, c in circuits.items()}
        network = build(bench.w.arrangement, tired, mains, without=corrections)
        networks.append(network if load is None else network.with_load(load))
    states = solve_networks(networks, highest=ORDER, limit=ORDER)
    base = states[0]
    if base is None:
        raise SolverError(f"no steady state at {share:.0%} of the mains")
    points = [None if s is None else operating(s, load) for s in states]
    first = points[0]
    if first is None:
        raise SolverError(f"no steady state at {share:.0%} of the mains")
    current, power = (_half(points, first, f) for f in ("mains_current", "mains_power"))
    ends = {j: rms(base.potential(j)) for j in bench.w.arrangement.output if base.has(j)}
    return _Point(first.mains_current, first.mains_power, current, power, ends)


def _half(points: list[Operating | None], first: Operating, figure: str) -> float:
    """Return the half width of the 95 % band: the parts' fits and the iron in squares, and the model's own error."""
    own = {"mains_current": MODEL_CURRENT, "mains_power": MODEL_POWER}[figure]
    value = float(getattr(first, figure))
    moves = [float(getattr(p, figure)) - value for p in points[1:] if p is not None]
    return COVERAGE * sqrt(sum(m**2 for m in moves) + (own * value) ** 2)


def _scaled(mains: MainsCircuit, share: float) -> MainsCircuit:
    poles = {n: (v * share, phase) for n, (v, phase) in mains.poles.items()}
    return replace(mains, poles=poles, resistance=STIFF[0], inductance=STIFF[1])


def _rows(bench: GateBench, id: str, point: _Point, meter: str, applied: float) -> Iterator[GateRow]:
    mark: Mark = weakest("pencil", mains_mark(bench.shelf.parts, bench.w.instances))
    for what, quantity, value, half, unit in (
        ("current", "current", point.current, point.current_half, "A"),
        ("power", "power", point.power, point.power_half, "W"),
    ):
        whole = sqrt(half**2 + (COVERAGE * bench.meter(meter, quantity, value)) ** 2)
        row = GateRow(
            f"{id} {what}", f"{id} ({volts_rms(applied)}): {what} into the set", value, max(0.0, value - whole),
            value + whole, unit, meter, mark, "solved at these volts; iron at low flux is assumed",
        )  # fmt: skip
        yield judged(row, bench.reading(f"mains {what}", id))


def _unsolved(id: str, meter: str) -> GateRow:
    return GateRow(
        id, id, None, None, None, "A", meter, verdict="not known", note="no converged answer, so no number is shown"
    )


# ---- safety gap ------------------------------------------------------------------------------------------------------


def windows_of(bench: GateBench) -> tuple[SparkWindow, ...]:
    """Return the window of each output end that stands above the touch limit: one leg each to earth."""
    output, air = bench.w.arrangement.output, site_air(bench.design)
    ends, peaks = live_ends(bench.supply, output), open_end_peaks(bench.supply, output)
    ratings = leg_ratings(bench.design, bench.w, bench.limits, highest_missing(bench.design, bench.supply))
    return tuple(_spark_window(j, window(peaks[j], ratings, air=air, legs=len(ends))) for j in ends)


def _spark_window(joint: str, s: SafetyWindow) -> SparkWindow:
    bound = s.bound
    return SparkWindow(
        joint,
        s.open_peak,
        s.low_peak,
        s.high_peak,
        "" if bound is None else bound.where,
        "pencil" if bound is None else bound.mark,
        s.low_spacing,
        s.high_spacing,
        s.fires_spacing,
        s.set_spacing,
        s.set_peak,
        s.set_band,
        s.spacing_band,
        s.is_narrow,
        s.is_too_narrow_for_feeler,
    )


def safety_gap_gate(bench: GateBench, windows: tuple[SparkWindow, ...]) -> Gate:
    """Return the gate of the safety gap, each leg with its window in kV and mm."""
    rows = []
    for s in windows:
        expected = None if s.is_empty else s.set_peak
        row = GateRow(
            s.joint, f"{s.joint} to earth, fires at (peak)", expected, s.low_peak, s.high_peak, "V",
            "the gap itself, by firing; a feeler gauge for the spacing, dead and shorted",
            s.high_mark, f"1.05 x open peak to earth; weakest: {s.high_where or 'not known'}",
            verdict="outside" if s.is_empty else "open", note=_spacing_words(s),
        )  # fmt: skip
        if not s.is_empty:
            row = _as_set(row, bench)
        rows.append(row)
    distance = keep_out_distance(max((s.open_peak for s in windows), default=0.0), None)
    return Gate(
        "safety gap", 9, "Safety gap",
        (
            "Tank disconnected, ballast in place, one gap from each output end to earth, full mains.",
            "Unplug, drain and short before every adjustment; never adjust it live, with any tool.",
            "Narrow it until it fires, open it until it just does not, then 8 % more spacing (our margin); lock it.",
            "Then the tank. Never widen it again, and never widen the main gap for a longer spark.",
            ("Balls, or rods with round ends of a radius of twice the spacing or more: on sharper ends the millimetres "
            "below do not hold, the firing does."),
        ),
        (
            "Fires below the window: it fires all the time, and the spacing says what the open volts really are.",
            "Does not fire at the spacing below: dirty or sharp ends, a lead off, or fewer volts than computed.",
            "No setting fits: fewer volts, or a better rating proved by a test of a qualified person.",
        ),
        distance, f"everyone {metres(distance)} away and out of sight of the arc; eyes covered, ears covered",
        tuple(rows), ("locked", "read again after the first run"),
        source="common practice, no source; spacing after F. M. Bruce, J. IEE 94 (1947) 138, from memory",
    )  # fmt: skip


def _spacing_words(s: SparkWindow) -> str:
    top = "" if s.high_spacing is None else f" to {metres(s.high_spacing)}"
    low, high = s.spacing_band
    words = (
        f"open peak {volts_peak(s.open_peak)}: just fires at about {metres(s.fires_spacing)}, with 8 % more "
        f"{metres(s.set_spacing)} ({volts_peak(s.set_peak)}); window {metres(s.low_spacing)}{top}; by the law alone "
        f"{metres(low)} to {metres(high)}"
    )
    if s.is_empty:
        return f"no setting fits; {words}"
    if s.is_narrow:
        return f"the window is narrower than one gap scatters (3 % sigma): some will lie outside; {words}"
    return f"{words}; too narrow for a feeler gauge alone: set it by firing" if s.is_narrow_for_feeler else words


def _as_set(row: GateRow, bench: GateBench) -> GateRow:
    """Return the row judged by a reading of that leg's firing, else by the setting that the project states; either
    counts with the gap's scatter.

    Volts that were worked out from millimetres agree with nothing: nobody has seen the gap fire at them.
    """
    read, stated = bench.reading("gap firing", row.id), fitted_peak(bench.design)
    if read is not None:
        found, top = judged(row, read), scattered(Known(read.value)).high or read.value
    elif stated is None:
        return row
    elif is_set_by_firing(bench.design):
        found, top = with_read(row, stated.value, stated.mark), stated.high or stated.value
    else:
        low, high = (volts_peak(v or stated.value) for v in (stated.low, stated.high))
        words = f"the project's millimetres make {volts_peak(stated.value)}, {low} to {high} by the law: fire it"
        return replace(row, note=f"{row.note}; {words}")
    if found.verdict == "agrees" and row.high is not None and top >= row.high:
        words = f"its scatter reaches {volts_peak(top)}, not below the weakest rating"
        return replace(found, verdict="outside", note=f"{row.note}; {words}")
    return found


__all__ = ["GAP_MARGIN", "SHARES", "reduced_gate", "safety_gap_gate", "spacing_of", "windows_of"]
