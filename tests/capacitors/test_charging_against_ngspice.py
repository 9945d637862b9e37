"""Bangs and power of the linear supply against ngspice: the same source and tank, the gap a voltage-controlled switch.

Independent: another integrator (ngspice, trapezoidal, variable step), bangs counted by the charge through the switch,
power from what the source gives less what its resistance takes. Run long: a static gap is chaotic, so that bangs agree
in the mean only, which the charging model itself puts at 2 % in power.
"""

from __future__ import annotations

from math import sqrt

import pytest
from benchmarks.netlists import ngspice

from coilwright.capacitors.charging import source_of, static_gap

pytestmark = [pytest.mark.tool("ngspice"), pytest.mark.slow, pytest.mark.timeout(120)]

SIGN = source_of(10e3, 0.1, 50, power=50.0)  # 1000 VA, X = 100 kohm
PEAK = 9e3
START, END = 0.02, 0.42


def netlist(farads: float) -> str:
    """Return the tank behind the source; the switch closes at PEAK of either sign and opens at 20 V."""
    s = SIGN
    return f"""* linear source, tank, gap
V1 e 0 SIN(0 {sqrt(2) * s.voltage:.9g} {s.frequency:g})
R1 e a {s.resistance:.9g}
L1 a v {s.inductance:.9g}
C1 v 0 {farads:g} IC=0
Bcontrol c 0 V=abs(v(v))
S1 v g c 0 gap OFF
Vgap g 0 0
.model gap SW(vt={(PEAK + 20) / 2:g} vh={(PEAK - 20) / 2:g} ron=10 roff=1e12)
Bcharge 0 q I=abs(i(Vgap))
Cq q 0 1m IC=0
Rq q 0 1e12
Bgiven 0 w I=-v(e)*i(V1)
Cw w 0 1 IC=0
Rw w 0 1e12
Blost 0 h I={s.resistance:.9g}*i(V1)*i(V1)
Ch h 0 1 IC=0
Rh h 0 1e12
.tran 2u {END:g} 0 2u UIC
.meas tran q_start FIND v(q) AT={START:g}
.meas tran q_end FIND v(q) AT={END - 1e-5:g}
.meas tran w_start FIND v(w) AT={START:g}
.meas tran w_end FIND v(w) AT={END - 1e-5:g}
.meas tran h_start FIND v(h) AT={START:g}
.meas tran h_end FIND v(h) AT={END - 1e-5:g}
.end
"""


@pytest.mark.parametrize("nanofarads", [5.0, 31.8])
def test_bangs_and_power(nanofarads: float) -> None:
    farads, time = nanofarads * 1e-9, END - START
    theirs = ngspice(netlist(farads)).values
    rate = 1e-3 * (theirs["q_end"] - theirs["q_start"]) / (farads * PEAK) / time
    power = (theirs["w_end"] - theirs["w_start"] - theirs["h_end"] + theirs["h_start"]) / time
    (ours,) = static_gap(SIGN, [farads], PEAK)
    assert ours.break_rate == pytest.approx(rate, rel=0.02)
    assert ours.power == pytest.approx(power, rel=0.02)
    # The two measurements agree with each other but for what the inductance may hold at either end.
    held = SIGN.inductance * (sqrt(2) * SIGN.short_current) ** 2 / 2 / time
    assert rate * farads * PEAK**2 / 2 == pytest.approx(power, abs=held)
    lost = (theirs["h_end"] - theirs["h_start"]) / time
    assert ours.loss == pytest.approx(lost, rel=0.05)
