"""Thresholds for people: current through a body, approach distance, spark reach."""

from __future__ import annotations

from math import sqrt

#: IEC 60335-1 cl. 8.1.4, seen: up to these volts a live part may be within reach; 30 V rms is the sine of that peak.
TOUCH_LIMIT_PEAK = 42.4
TOUCH_LIMIT_RMS = 30.0
#: Body resistance at kilovolts, ohm: IEC TS 60479-1, from memory (asymptote 575 ohm for 5 % of people; about 1000 ohm
#: at 225 V).
BODY_RESISTANCES = (575.0, 1000.0)
#: Let-go current of the whole population, A rms: IEC TS 60479-1:2018, from memory; DOE-HDBK-1092 has the same 5 mA,
#: seen.
LET_GO_CURRENT = 5e-3

#: Limited approach, (up to V, m): NFPA 70E Table 130.4, seen: fixed parts to 15 and 36 kV, movable conductors to 72.5
#: kV.
LIMITED_APPROACH: tuple[tuple[float, float], ...] = ((15e3, 1.52), (36e3, 1.83), (72.5e3, 3.05))


def body_current(voltage: float, source_impedance: complex, resistance: float) -> float:
    """Return the current [A rms] that ``voltage`` behind ``source_impedance`` drives through a body of that resistance
    [ohm].
    """
    if not resistance > 0:
        raise ValueError(f"body resistance must be positive: got {resistance} ohm")
    return abs(voltage) / abs(resistance + source_impedance)


def spark_length_guide(power: float) -> float:
    """Return the trade's upper guide for the longest attached spark [m] of a machine drawing ``power`` [W].

    1.7 inches times the square root of the watts: an empirical formula of one hobbyist's, attributed to J. Freau, from
    memory; no publication. Good to a factor of two, and of use only as an upper guide: nothing is called far enough
    away because of it.
    """
    if power < 0:
        raise ValueError(f"power must not be negative: got {power} W")
    return 1.7 * 25.4e-3 * sqrt(power)


def keep_out_distance(peak: float | None, streamer: float | None) -> float:
    """Return the radius [m] that nobody enters: the larger of limited approach and twice the streamer.

    ``peak`` None stands for a top load whose volts are not known: above 36 kV. Beyond 72.5 kV no larger distance was
    found, so the 3.05 m stay, and the streamer decides.
    """
    approach = LIMITED_APPROACH[-1][1]
    if peak is not None:
        approach = next((d for v, d in LIMITED_APPROACH if peak <= v), approach)
    return max(approach, 2 * (streamer or 0.0))
