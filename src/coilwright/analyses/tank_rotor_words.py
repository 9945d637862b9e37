"""What a rotary gap does, in words with its numbers: timing, phase, stalls, spin test."""

from __future__ import annotations

from math import pi

import numpy as np

from coilwright.analyses.tank_results import GapResult, RotaryResult, RotorShape, SupplySide
from coilwright.discharge import rotary as turning
from coilwright.model.machine import Gap
from coilwright.protection.wording import amperes, metres, metres_per_second, newtons, revolutions, volts_peak

SYNCHRONOUS = "synchronous rotary"


def timing_words(g: Gap, lock: turning.MainsLock, frequency: float) -> tuple[str, ...]:
    """Return how the presentations go with the mains of ``frequency`` [Hz]."""
    if g.speed is None or g.presentations is None:
        return ()
    f, rate = frequency, g.presentations * g.speed.value
    pairs = turning.synchronous_pole_pairs(g.speed.value, f)
    out = [f"{rate:.4g} presentations a second: {lock.per_half_cycle:.4g} in each half-cycle of {f:g} Hz."]
    odd = lock.locked and lock.per_half_cycle < 1
    odd = odd or (not lock.locked and abs(rate / f - round(rate / f)) < 1e-6)
    if g.kind == SYNCHRONOUS and pairs is None:
        speeds = ", ".join(revolutions(f / p) for p in (1, 2, 3))
        out.append(
            f"{revolutions(g.speed.value)} is no synchronous speed on {f:g} Hz ({speeds} ...): such a motor slips, and "
            f"the presentations slide through the mains cycle."
        )
    elif g.kind == SYNCHRONOUS:
        out.append(f"A synchronous motor of {2 * (pairs or 1)} poles holds it in step with the mains while it is fed.")
    elif lock.locked:
        slip = 0.01 * rate
        out.append(
            "In step only at exactly this speed: 1 % of slip slides the presentations through one whole presentation "
            f"{slip:.3g} times a second, and the tank is fired at every place of the mains cycle."
        )
    if not lock.locked and not odd:
        out.append(
            f"Not in step: the pattern slides through a whole presentation {lock.drift:.3g} times a second, so bangs, "
            "mains current and noise beat at that rate, and the highest bang of a beat counts for every rating."
        )
    if odd:
        out.append(
            "The two half-cycles are not cut alike: the supply is loaded more in one sense than in the other, which "
            "puts direct current through its windings and drives its cores towards saturation."
        )
    return tuple(out)


def phase_words(g: Gap, frequency: float) -> tuple[str, ...]:
    """Return where in the mains cycle a synchronous rotor presents its electrodes, and how to move that."""
    if g.kind != SYNCHRONOUS or g.speed is None:
        return ()
    turn = turning.stator_angle(pi / 18, g.speed.value, frequency) * 180 / pi
    moved = f"turning the fixed electrodes by {turn:.3g} degrees moves the firing by 10 degrees of the mains cycle"
    if g.phase is None:
        return (f"Phase not stated; {moved}. Set it from the lowest power up, the power off for every touch.",)
    late = g.phase.value / (2 * pi * frequency)
    words = f"Alignment stands {g.phase.value * 180 / pi:.3g} degrees ({late * 1e3:.3g} ms) after the mains' zero"
    return (f"{words}; {moved}.",)


# ---- stalled ---------------------------------------------------------------------------------------------------------


def firing_peak(gap: GapResult | None, distance: float) -> float | None:
    """Return at what the whole gap fires with each of its gaps at ``distance`` [V peak], None off its curve."""
    if gap is None or not gap.curve:
        return None
    points = sorted(gap.curve, key=lambda p: p.spacing)
    if not points[0].spacing <= distance <= points[-1].spacing:
        return None
    return float(np.interp(distance, [p.spacing for p in points], [p.peak for p in points]))


def stalled_words(shape: RotorShape | None, gap: GapResult | None, supply: SupplySide) -> tuple[str, ...]:
    """Return what happens when the rotor stands still under power, in alignment and out of it."""
    short, peak = supply.short_current.value, supply.own_missing.peak if supply.own_missing else None
    supply_peak = peak if peak is not None else supply.open_peak.value
    named = "the peak with the gap missing" if peak is not None else "the open peak (that with the tank is not known)"
    if shape is None or shape.axial_gap is None:
        where = "electrodes in alignment", "out of alignment"
        share = fires = ""
        wide: float | None = None
        wide_peak = None
    else:
        geometry = _geometry(shape, shape.axial_gap)
        wide = turning.largest_distance(geometry)
        wide_peak = firing_peak(gap, wide)
        at = firing_peak(gap, shape.axial_gap)
        fires = "" if at is None else f", firing at about {volts_peak(at)}"
        if at is not None and at > supply_peak:
            above = f"above {named}, {volts_peak(supply_peak)}: it may not fire at all"
            fires = f" that breaks down at {volts_peak(at)}, {above}"
        part = shape.presentations * shape.dwell_angle / (2 * pi)
        share = f" It stops so in {100 * part:.2g} % of all stops, if by chance."
        where = (
            f"electrodes in alignment, {turning.GAPS_IN_SERIES} x {metres(shape.axial_gap)}",
            f"half a pitch out of alignment, {turning.GAPS_IN_SERIES} x {metres(wide)}",
        )
    aligned = (
        f"Stalled under power with the {where[0]}: a static gap{fires}. The same electrodes take every bang and all "
        f"the heat, nothing blows the arc out, and the supply runs into it with up to {amperes(short)}: an arc of some "
        f"tens of volts limits nothing.{share}"
    )
    return aligned, _out_of_line(where[1], wide, wide_peak, (supply_peak, named))


def _out_of_line(where: str, wide: float | None, wide_peak: float | None, supply: tuple[float, str]) -> str:
    peak, named = supply
    head = f"Stalled {where}: "
    if wide is None:
        return (
            f"{head}it may never fire; the tank then rings up to {named}, {volts_peak(peak)}, and only the safety gap "
            "holds it."
        )
    if wide_peak is not None and wide_peak <= peak:
        return (
            f"{head}it fires only at {volts_peak(wide_peak)}, and every part sees that; {named} is {volts_peak(peak)}."
        )
    needs = "more than its curve reaches" if wide_peak is None else volts_peak(wide_peak)
    return (
        f"{head}it would need {needs} and never fires. The tank rings up to {named}, {volts_peak(peak)}, and only the "
        "safety gap holds it."
    )


def _geometry(shape: RotorShape, axial: float) -> turning.RotorGeometry:
    d = shape.electrode_diameter
    return turning.RotorGeometry(shape.presentations, shape.aim_radius, d, d, axial)


def spin_test(made: RotaryResult) -> tuple[str, ...]:
    """Return how the rotor is proved before it is ever powered, with its numbers."""
    force = made.spin_test_force
    pull = f", {newtons(force.value)} on each electrode" if force else ""
    tip = made.tip_speed * made.spin_test_speed / made.speed if made.tip_speed else None
    rim = f", {metres_per_second(tip)} at the rim" if tip else ""
    at = f"{revolutions(made.spin_test_speed)} (1.2 x the highest speed, every stress 1.44 x{pull}{rim})"
    how = "started from behind a wall with nobody in the room, tank and transformer disconnected and shorted"
    looked = "stop, lock off, look at every hole and nut again; a changed measure or a whitened hole scraps the disc"
    return (
        f"Spin test: {at} for 10 min with the shield on, {how}.",
        f"Before it: balance the rotor, nuts locked, every hole's edge free of cracks. After it: {looked}.",
        "Power is interlocked with the rotor: no high voltage until it turns at speed, and off before it slows down.",
    )


__all__ = ["SYNCHRONOUS", "firing_peak", "phase_words", "spin_test", "stalled_words", "timing_words"]
