"""How bad a slip is, and what one would see: both made of its solved numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coilwright.analyses.results import SupplyResult
from coilwright.analyses.slips_results import SlipRow
from coilwright.analyses.what_ifs import Touch
from coilwright.model.site import Site
from coilwright.protection.body import LET_GO_CURRENT, TOUCH_LIMIT_RMS
from coilwright.protection.breaker import NON_TRIP, verdict
from coilwright.protection.energy import stored_limits
from coilwright.protection.wording import amperes, joules, residual, seconds, volts, volts_peak

#: An output that shows less than this share of its open volts looks dead.
LOOKS_DEAD = 0.1
#: Volts and amperes that differ by less than this share look as they should.
AS_RIGHT = 0.03
#: More volts than right by this share count as an overvoltage.
OVERVOLT = 1.1
#: Volts on the mains side above this multiple of the mains count as high voltage there.
MAINS_HIGH = 2.0
#: A residual-current device may trip from half its rating on and must at its rating (IEC 61008-1, from memory).
MAY_TRIP = 0.5

#: Ranks of harm; the worst body current, up to 1 A, ranks within each.
IN_THE_CIRCUIT, METAL_LIVE, LOOKS_DEAD_IS_NOT, TOO_HIGH, TOO_MUCH, CHANGED, AS_IT_SHOULD = 6, 5, 4, 3, 2, 1, 0


def _change(value: float | None, right: float) -> float:
    return abs((value or 0.0) / right - 1) if right else 0.0


def harm_of(row: SlipRow, right: SupplyResult, site: Site, low: Mapping[str, float]) -> float:
    """Return the harm of a slip: its rank and, behind the point, the worst current through a body.

    ``low`` are the potentials on the mains side [V rms]. A row that was not solved ranks with live metal: nobody
    knows better of it.
    """
    touch = max((t.current for t in row.touches), default=0.0)
    live = [t.current for t in row.touches if t.metal and t.current > LET_GO_CURRENT]
    if row.id == "body-contact":
        rank = IN_THE_CIRCUIT
    elif live or _mains_live(low, site) or row.lethal is None:
        rank, touch = METAL_LIVE, max(live, default=touch)
    elif _looks_dead(row, right) or (row.residual_current or 0.0) > LET_GO_CURRENT:
        rank = LOOKS_DEAD_IS_NOT
    elif _too_high(row, right):
        rank = TOO_HIGH
    elif row.mains_current_worst is None or row.mains_current_worst > NON_TRIP * site.breaker.value.rated_current:
        rank = TOO_MUCH
    elif _changed(row, right, low):
        rank = CHANGED
    else:
        rank = AS_IT_SHOULD
    return rank + min(touch, 0.999)


def _mains_live(low: Mapping[str, float], site: Site) -> bool:
    return max(low.values(), default=0.0) > MAINS_HIGH * site.mains_voltage.value


def _looks_dead(row: SlipRow, right: SupplyResult) -> bool:
    if row.open_voltage is None:
        return False
    highest = max(row.ends.values(), default=0.0)
    return row.open_voltage < LOOKS_DEAD * right.open_circuit.voltage and highest > TOUCH_LIMIT_RMS


def _too_high(row: SlipRow, right: SupplyResult) -> bool:
    if max(row.cores.values(), default=0.0) > TOUCH_LIMIT_RMS:
        return True
    if row.charge is not None and any(s.exceeded for s in stored_limits(_farads(row), row.charge.peak)):
        return True
    if row.peak is not None:
        return row.peak > OVERVOLT * right.open_circuit.voltage_peak
    usual = max((right.joints[j].to_earth for j in row.ends if j in right.joints), default=0.0)
    across = (row.open_voltage or 0.0) > OVERVOLT * right.open_circuit.voltage
    return across or (usual > 0 and max(row.ends.values(), default=0.0) > OVERVOLT * usual)


def _farads(row: SlipRow) -> float:
    return 2 * row.charge.energy / row.charge.peak**2 if row.charge is not None else 0.0


def _changed(row: SlipRow, right: SupplyResult, low: Mapping[str, float]) -> bool:
    if any(j in right.joints and _change(v, right.joints[j].to_earth) > AS_RIGHT for j, v in low.items()):
        return True
    pairs = (
        (row.open_voltage, right.open_circuit.voltage),
        (row.short_current, right.short_circuit.current),
        (row.mains_current_worst, right.mains_current_uncorrected),
    )
    return any(value is not None and _change(value, usual) > AS_RIGHT for value, usual in pairs)


def sees(row: SlipRow, right: SupplyResult, site: Site, low: Mapping[str, float]) -> str:
    """Return what one would see of a slip, each number solved."""
    if row.open_voltage is None:
        return "Not known: no converged answer."
    parts = [*_output(row, right), *_metal(row), *_mains(row, right, site, low), *_left(row)]
    if row.unsolved:
        parts.append("Not known, no converged answer: " + "; ".join(row.unsolved) + ".")
    return " ".join(parts)


def _output(row: SlipRow, right: SupplyResult) -> Iterator[str]:
    usual, across = right.open_circuit.voltage, row.open_voltage or 0.0
    if row.peak is not None:
        share = row.peak / right.open_circuit.voltage_peak
        yield f"With the gap missing {volts_peak(row.peak)} across, {share:.2g} times the open peak."
        return
    ends = {j: v for j, v in row.ends.items() if v > TOUCH_LIMIT_RMS}
    shown = ", ".join(f"{volts(v)} at {j}" for j, v in ends.items())
    if _looks_dead(row, right):
        yield f"Looks dead, {_volts(across)} across, and is not: {shown} to earth."
    elif across < LOOKS_DEAD * usual:
        yield f"Dead while it lasts: {_volts(across)} across, no end above the touch limit."
        yield "One lead that moves undoes that."
    elif _change(across, usual) > AS_RIGHT:
        yield f"{volts(across)} across instead of {volts(usual)}; {shown} to earth."
    else:
        yield f"{volts(across)} across, as it should be" + (f"; {shown} to earth." if len(ends) > 1 else ".")
    short = right.short_circuit.current
    if row.short_current is not None and _change(row.short_current, short) > AS_RIGHT:
        yield f"{_amperes(row.short_current)} into a short instead of {amperes(short)}."


def _metal(row: SlipRow) -> Iterator[str]:
    touch = row.touch
    hand = touch is not None and touch.metal and touch.current > LET_GO_CURRENT  # told of at the end
    cores: dict[str, list[str]] = {}
    for unit, v in row.cores.items():
        if v > TOUCH_LIMIT_RMS:
            here = row.core_touches.get(unit)
            told = here is None or (hand and here == touch)
            more = "" if told or here is None else f", {_band(here)} through a body there, {here.load}"
            cores.setdefault(f"at {volts(v)} to earth{more}.", []).append(unit)
    for words, units in cores.items():
        yield f"{'Core' if len(units) == 1 else 'Cores'} of {', '.join(units)} {words}"
    if touch is None:
        return
    if row.id == "body-contact":
        yield f"{amperes(touch.current)} through the body; the residual current is {residual(touch.residual)}."
    elif touch.metal and touch.current > LET_GO_CURRENT:
        yield f"A hand on {touch.where} takes {_band(touch)}: it is taken for earthed."
    elif touch.across and touch.current > LET_GO_CURRENT:
        yield f"A body from {touch.where} takes {_band(touch)}."
    elif touch.current > LET_GO_CURRENT:
        yield f"A hand on {touch.where} takes {_band(touch)}."


def _band(touch: Touch) -> str:
    low, high = amperes(touch.current_1000), amperes(touch.current_575)
    return low if low == high else f"{low} to {high}"


def _volts(value: float) -> str:
    return "less than 1 mV" if value < 1e-3 else volts(value)


def _amperes(value: float) -> str:
    return "less than 1 uA" if value < 1e-6 else amperes(value)


def _mains(row: SlipRow, right: SupplyResult, site: Site, low: Mapping[str, float]) -> Iterator[str]:
    idle, usual = row.mains_current, right.open_circuit.mains_current_uncorrected
    if idle is not None and usual is not None:
        same = _change(idle, usual) <= AS_RIGHT
        yield f"Mains {_amperes(idle)} with the output open" + (
            ", as it should be." if same else f" instead of {amperes(usual)}."
        )
    worst, breaker = row.mains_current_worst, site.breaker.value
    if worst is not None and worst > NON_TRIP * breaker.rated_current:
        name = f"{breaker.curve}{breaker.rated_current:g}" if breaker.curve else f"{breaker.rated_current:g} A"
        yield f"Up to {amperes(worst)}: a {name} breaker {verdict(worst, breaker).words}."
    if _mains_live(low, site):
        yield f"Up to {volts(max(low.values()))} to earth on the mains side."
    for joint, v in low.items():
        usual_v = right.joints[joint].to_earth if joint in right.joints else v
        if usual_v <= TOUCH_LIMIT_RMS < v:
            yield f"{joint} is live, {volts(v)} to earth: a one-pole switch in the line leaves it so."
    flows, trip = row.residual_current, site.rcd.value
    if flows is None or flows < LET_GO_CURRENT or row.id == "body-contact":
        return
    if trip is None:
        yield f"Residual {amperes(flows)}, and no device looks for it."
    elif flows >= trip:
        yield f"Residual {amperes(flows)}: the {amperes(trip)} device trips."
    elif flows >= MAY_TRIP * trip:
        yield f"Residual {amperes(flows)}: the {amperes(trip)} device may trip."
    else:
        yield f"Residual {amperes(flows)}: the {amperes(trip)} device does not trip."


def _left(row: SlipRow) -> Iterator[str]:
    if row.charge is None:
        return
    c = row.charge
    held = f"Holds up to {volts(c.peak)} peak, {joules(c.energy)}"
    if c.drain_time is not None:
        yield f"{held}; {seconds(c.drain_time)} down to {volts(c.residual)} through its bleeders."
        return
    right = (
        ""
        if c.drain_time_right is None
        else f" (with its bleeder {seconds(c.drain_time_right)} down to {volts(c.residual)})"
    )
    yield f"{held}, once its leads are off; how long it holds is not known{right}."
