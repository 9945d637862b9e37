"""The telltale of last resort: what a heater in the line shows of a slip, the mains on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import hypot
from typing import Protocol

from coilwright.analyses.limiter import RATING_TOLERANCE, behind, tells_apart
from coilwright.analyses.results import PartResult
from coilwright.analyses.sides import correction_capacitors
from coilwright.analyses.slip_networks import Slip, network_of
from coilwright.analyses.slips_results import Telltale
from coilwright.analyses.topology import Wired
from coilwright.analyses.uncertainty import half_width, moved_circuits
from coilwright.supply.circuits import MainsCircuit, PartCircuit
from coilwright.supply.limiter import Limiter, mains_volts

#: Heaters that are tried in the line [W].
LIMITERS = (500.0, 1000.0, 2000.0)


class OnBench(Protocol):
    """What the test is computed on; ``voltmeter`` is its error as a share of the reading and a fixed part [V]."""

    @property
    def w(self) -> Wired: ...
    @property
    def circuits(self) -> Mapping[str, PartCircuit]: ...
    @property
    def parts(self) -> Mapping[str, PartResult]: ...
    @property
    def mains(self) -> MainsCircuit: ...
    @property
    def right(self) -> Slip: ...
    @property
    def voltmeter(self) -> tuple[float, float]: ...


def limited(bench: OnBench, slip: Slip) -> Iterator[Telltale]:
    """Yield what usual lamps and heaters in the line show, the mains on: asked only where nothing with the plug out
    tells. Correction capacitors and tank are off.
    """
    if slip.arrangement == bench.w.arrangement and not (slip.bridges or slip.turns):
        return
    off = correction_capacitors(bench.w)
    right = network_of(bench.right, bench.circuits, bench.mains, without=off)
    wrong = network_of(replace(slip, live=()), bench.circuits, bench.mains, without=off)
    if not wrong.sources:
        return
    volts = mains_volts(right)
    cases = {"right": right, "wrong": wrong}
    cases |= {f"{name} shorted": n.with_load(0.0) for name, n in cases.items()}
    relative, fixed = bench.voltmeter
    for power in LIMITERS:
        device = Limiter("heater", power, volts)
        shown = behind(cases, device)
        for state in ("", " shorted"):
            r, w = shown[f"right{state}"], shown[f"wrong{state}"]
            if r is None or w is None or not tells_apart(r, w):
                continue
            spread = _spread(bench, slip, device, off, (r, w), shorted=bool(state))
            halves = [
                hypot(1.96 * (relative * x + fixed) + RATING_TOLERANCE * x, s)
                for x, s in zip((r, w), spread, strict=True)
            ]
            how = (
                f"With the mains ON through a {power:g} W heater, correction capacitors and tank off, output "
                f"{'shorted' if state else 'open'}: the output is still deadly. Read on the mains side only."
            )
            meter = f"voltmeter across the heater, {100 * relative:g} % + {1e3 * fixed:g} mV, its rating 10 %"
            yield Telltale(
                "limiter", ("heater", "heater"), r, w, "V", halves[0], halves[1], meter, how, None, None, bool(state)
            )


def _spread(
    bench: OnBench, slip: Slip, device: Limiter, off: frozenset[str], volts: tuple[float, float], *, shorted: bool
) -> tuple[float, float]:
    """Return the 95 % half widths that the parts leave open in the volts of right and wrong.

    The iron works near its usual flux here, so a unit is compared with its own readings, not with what iron does at a
    few volts.
    """
    moved = moved_circuits(bench.circuits, bench.parts, bench.w.instances)[1:]
    out = []
    for one, value in zip((bench.right, replace(slip, live=())), volts, strict=True):
        networks = [network_of(one, c, bench.mains, without=off) for c in moved]
        cases = {str(k): n.with_load(0.0) if shorted else n for k, n in enumerate(networks)}
        shown = behind(cases, device) if cases else {}
        out.append(half_width([value, *shown.values()]) or 0.0)
    return out[0], out[1]
