"""The set behind its limiter stepped in time by ngspice: a second route to what the limiter shows. Required: 1 % rms.

The lamp stands in the netlist as the resistance at which it settled here; that curve is checked by itself.
"""

from __future__ import annotations

import pytest
from benchmarks.netlists import ngspice

from analyses.slip_benches import bench
from coilwright.analyses.limiter import limiter
from coilwright.analyses.limiter_results import Wanted
from coilwright.analyses.sides import correction_capacitors
from coilwright.report.spice import netlist
from coilwright.supply.build import build
from coilwright.supply.limiter import LIMITER, through

pytestmark = [pytest.mark.tool("ngspice"), pytest.mark.slow, pytest.mark.timeout(120)]


@pytest.mark.parametrize(("kind", "power"), [("lamp", 500.0), ("heater", 1000.0)])
@pytest.mark.parametrize("name", ["demo", "pair at 120 V"])
def test_what_the_limiter_shows_open_and_shorted(name: str, kind: str, power: float) -> None:
    done = bench(name)
    result = limiter(done.design, Wanted(kind, power))
    bare = build(
        done.wired.arrangement, done.circuits, done.mains, without=frozenset(correction_capacitors(done.wired))
    )
    for point, network in ((result.opened, bare), (result.shorted, bare.with_load(0.0))):
        ohms = point.limiter_voltage / point.current
        assert ohms <= result.hot_resistance * (1 + 1e-6)
        behind = through(network, ohms)
        measured = (LIMITER,) if point is result.opened else (LIMITER, "load")
        theirs = ngspice(netlist(behind, cycles=26, ramp_cycles=12, steps_per_cycle=300, measure=measured)).values
        assert ohms * theirs[f"i_{LIMITER}"] == pytest.approx(point.limiter_voltage, rel=0.01)
        if point is result.opened:
            assert theirs["v_out"] == pytest.approx(point.output_voltage, rel=0.01)
            assert max(theirs["v_out_max"], -theirs["v_out_min"]) == pytest.approx(point.output_peak, rel=0.01)
        else:
            assert theirs["i_load"] == pytest.approx(point.output_current, rel=0.01)
