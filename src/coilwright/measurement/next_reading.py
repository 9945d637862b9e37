"""Which further reading would help most, and what it would expose.

Every candidate is predicted with the present circuit; what it would leave of the bands follows from the covariance
with that reading added (Gauss-Newton). A candidate of less hazard always comes first. Nothing is asked for that the
named instrument cannot take, no meter is ever put on the high winding at mains, and a short test is asked at the
current which the unit will carry behind its ballast.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, log10

import numpy as np

from coilwright.measurement.findings import say
from coilwright.measurement.identify import Fit, bands
from coilwright.measurement.parameters import PLACE, coefficients
from coilwright.measurement.promise import Addition, Outlook, outlooks
from coilwright.measurement.readings import MODEL_SIGMA, Observation, What, log_sigma
from coilwright.measurement.transformer_bench import BenchTest, low_voltage_ratio, predict, true_rms
from coilwright.model.parts import Instrument, Read, Transformer

#: Volts anywhere within reach in a low-voltage test (touch limit 30 V rms: IEC 60335-1, clause 8.1.4; some margin).
REACH = 27.0
#: A candidate must take away this share of some band, or it is not asked for; one that was taken already, more.
WORTH, WORTH_AGAIN = 0.08, 0.20
#: The least drive that is asked for [V]: smaller ones no adapter gives. How well the ratio must be known to drive the
#: primary: 95 % half width of its logarithm.
LEAST_DRIVE, RATIO_KNOWN = 1.0, 0.25
#: No more than this is asked for [A]: what a plug-in meter carries with room to spare (assumption).
MOST_AMPERES = 10.0
#: A short test that would show more than this if its short fell off counts as one with the high winding live [V].
LETHAL_IF_OPEN = 1000.0
#: Bands by which candidates are judged, in words.
WORDS = {
    "working_current": "short-circuit current at the volts that a ballast leaves",
    "short_current": "short-circuit current at full volts",
    "open_voltage": "open volts",
    "open_current": "no-load current",
}
UNITS = {"working_current": "A", "short_current": "A", "open_voltage": "V", "open_current": "A"}
HAZARD_WORDS = (
    "nothing is live: plug out, meter leads only",
    "low voltage only: no two points within reach carry more than 30 V rms",
    "mains drive on the primary; only the short keeps the high winding down: lethal if it falls off",
    "the high winding is live at kilovolts, or would be if the short fell off: lethal",
)


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken: the test and its numbers with their standard deviations, as a fit sees them.

    ``again``: the same was read before.
    """

    what: str
    instrument: str
    hazard: int
    test: BenchTest
    numbers: tuple[What, ...]
    sigmas: tuple[float, ...]
    applied_sigma: float
    response: str | None
    how: str
    again: bool = False


@dataclass(frozen=True)
class Asked:
    """A candidate with what it promises: the quantity it narrows most, and that band before and after."""

    candidate: Candidate
    quantity: str
    before: tuple[float, float]
    after: tuple[float, float]

    @property
    def shrink(self) -> float:
        """Return by what share the band gets narrower."""
        return 1 - (self.after[1] - self.after[0]) / (self.before[1] - self.before[0])


def next_readings(
    part: Transformer,
    result: Fit,
    instruments: Mapping[str, Instrument],
    mains_voltage: float,
    frequency: float,
    working_current: float,
    *,
    most: int = 3,
) -> tuple[Asked, ...]:
    """Return the readings most worth taking on a transformer, of the least hazard first and one of each kind of test.

    ``working_current`` [A rms, primary] is what the unit will carry behind its ballast.
    """
    volts = working_volts(result, mains_voltage, frequency, min(working_current, MOST_AMPERES))
    found = candidates(part, result, instruments, mains_voltage, frequency, volts)
    if not found:
        return ()
    now, later = outlooks(result, [_addition(c) for c in found], tuple(WORDS), mains_voltage, frequency, volts)
    ranked: list[tuple[int, float, Candidate, str, Outlook]] = []
    for candidate, outlook in zip(found, later, strict=True):
        falls = {q: 1 - (outlook.variance(q) / max(now.variance(q), 1e-18)) ** 0.5 for q in WORDS}
        best = max(falls, key=falls.__getitem__)
        if falls[best] >= (WORTH_AGAIN if candidate.again else WORTH):
            ranked.append((candidate.hazard, -falls[best], candidate, best, outlook))
    ranked.sort(key=lambda row: (row[0], row[1]))
    out: list[Asked] = []
    kinds: set[str] = set()
    for _, _, candidate, best, outlook in ranked:
        kind = candidate.test.kind.partition(" ")[0]
        if kind in kinds or len(out) == most:
            continue
        kinds.add(kind)
        before, after = (
            bands(
                o.narrowed(result),
                mains_voltage,
                frequency,
                working_voltage=volts,
                names=(best,),
                extra={best: o.open_variance(best)},
            )[best][1:]
            for o in (now, outlook)
        )
        out.append(Asked(candidate, best, before, after))
    return tuple(out)


def _addition(c: Candidate) -> Addition:
    seen = tuple(Observation(0, what, 1.0, s, "", c.response) for what, s in zip(c.numbers, c.sigmas, strict=True))
    return Addition(c.test, seen, c.applied_sigma)


def working_volts(result: Fit, mains_voltage: float, frequency: float, working_current: float) -> float:
    """Return the primary volts at which a short takes the working current [V rms], at most the mains."""
    grid = np.linspace(0.04, 1.0, 25) * mains_voltage
    c = coefficients(result.theta, result.prior, result.exponent)
    state = predict(c, [BenchTest("short", float(v), frequency, warm=True) for v in grid])
    good = state.converged[0]
    if not good.any():
        return mains_voltage
    return float(np.interp(working_current, true_rms(state.primary_current)[0][good], grid[good]))


def candidates(
    part: Transformer,
    result: Fit,
    instruments: Mapping[str, Instrument],
    mains_voltage: float,
    frequency: float,
    working_voltage: float,
) -> list[Candidate]:
    """Return the readings that could be taken on a transformer with the instruments there are.

    ``working_voltage`` is what the ballast leaves on the primary in a short: the short test is asked there.
    """
    found = [*_low_voltage(part, result, instruments, frequency)]
    mains_meter = meter_for(instruments, ("voltage", "current", "power"), 0.0)
    if mains_meter is None:
        return found
    found += _short(part, result, mains_meter, frequency, working_voltage)
    found += _open(part, result, mains_meter, mains_voltage, frequency)
    return found


@dataclass(frozen=True)
class Meter:
    """An instrument by name, with its rating [V]; ``instrument`` is None where the file names none."""

    id: str
    instrument: Instrument | None
    rating: float


def meter_for(instruments: Mapping[str, Instrument], quantities: tuple[str, ...], volts: float) -> Meter | None:
    """Return the instrument for some quantities that takes the volts: the one that reads most of them, the best rated.

    Without any instrument in the file one with a rating is named in words; where there are some and none will do, None.
    """
    if not instruments:
        return Meter("a mains-side meter rated 250 V", None, 250.0) if volts <= 250 else None
    fit = [i for i in instruments.values() if i.rating is not None and i.rating >= volts and "voltage" in i.accuracy]
    able = [i for i in fit if all(q in i.accuracy for q in quantities)] or [
        i for i in fit if all(q in i.accuracy for q in quantities if q != "power")
    ]
    if not able:
        return None
    best = max(able, key=lambda i: (sum(q in i.accuracy for q in quantities), i.rating or 0.0))
    return Meter(best.id, best, best.rating or 0.0)


def _sigma(meter: Meter, what: What, value: float, kind: str) -> float:
    quantity = {"current": "current", "power": "power", "read": "voltage"}[what]
    return float((log_sigma(Read(value), quantity, meter.instrument) ** 2 + MODEL_SIGMA[kind, what] ** 2) ** 0.5)


def _low_voltage(
    part: Transformer, result: Fit, instruments: Mapping[str, Instrument], frequency: float
) -> list[Candidate]:
    meter = meter_for(instruments, ("voltage",), 30.0) if instruments else Meter("a digital voltmeter", None, 250.0)
    if meter is None:
        return []
    ratio, half = _ratio_band(result)
    done = [t.fed for t in part.low_voltage_test]
    c = coefficients(result.theta, result.prior, result.exponent)
    drives = {"high": 24.0}
    if half <= RATIO_KNOWN:  # else what comes out is not known, and the other way round tells first
        drives["low"] = _round_down(REACH / max(ratio, 1 / ratio) / float(np.exp(half)))
    out = []
    for fed, drive in drives.items():
        if done.count(fed) >= 2 or drive < LEAST_DRIVE:
            continue
        test = BenchTest("fed high" if fed == "high" else "fed low", drive, frequency)
        volts = float(low_voltage_ratio(c, [test])[0, 0]) * drive
        if max(volts * float(np.exp(half)), drive) > min(meter.rating, 30.0):
            continue
        again = "once more, the " if fed in done else ""
        where = "the high winding" if fed == "high" else "the primary"
        other = "the primary" if fed == "high" else "the high winding"
        how = (
            f"Plug of the set out. Feed {say(drive, 'V')} from a separated adapter with a 1 A fuse to {where}, read "
            f"the volts there and on {other} with {meter.id} (about {say(volts, 'V')} expected). Nothing within reach "
            "passes 30 V."
        )
        out.append(
            Candidate(
                f"{again}ratio at low voltage, fed on {where}",
                meter.id,
                1,
                test,
                ("read",),
                (_sigma(meter, "read", volts, test.kind),),
                log_sigma(Read(drive), "voltage", meter.instrument),
                "true rms",
                how,
                again=fed in done,
            )
        )
    return out


def _ratio_band(result: Fit) -> tuple[float, float]:
    """Return the turns ratio and the 95 % half width of its logarithm."""
    place = PLACE["ratio"]
    return float(np.exp(result.theta[place])), 1.96 * float(result.covariance[place, place]) ** 0.5


def _short(part: Transformer, result: Fit, meter: Meter, frequency: float, working_voltage: float) -> list[Candidate]:
    volts = _round(working_voltage)
    volts = volts if volts <= meter.rating else _round_down(meter.rating)
    if any(0.8 < t.applied.value / volts < 1.25 for t in part.short_test):
        return []
    c = coefficients(result.theta, result.prior, result.exponent)
    state = predict(c, [BenchTest("short", volts, frequency)])
    if not state.converged.all():
        return []
    current, power = float(true_rms(state.primary_current)[0, 0]), float(state.power[0, 0])
    ratio = float(np.exp(result.theta[PLACE["ratio"]]))
    ends = "both ends of the high winding" if result.prior.tapped else "the high winding's free end"
    numbers: tuple[What, ...] = ("current", "power") if reads_power(meter) else ("current",)
    how = (
        f"Bolt {ends} to the core, core to earth. Variable transformer on the primary, from zero up to about "
        f"{say(volts, 'V')}: {say(current, 'A')}, the current it will carry in use, {say(power, 'W')} expected. Read "
        f"{'volts, amperes and watts' if 'power' in numbers else 'volts and amperes'} on the mains side only, with "
        f"{meter.id}. Nobody near: if the short falls off, {say(volts, 'V')} becomes {say(volts * ratio, 'V')} on the "
        "high winding."
    )
    return [
        Candidate(
            f"short test at {say(volts, 'V')}, about {say(current, 'A')}",
            meter.id,
            2 if volts * ratio <= LETHAL_IF_OPEN else 3,
            BenchTest("short", volts, frequency),
            numbers,
            tuple(_sigma(meter, n, current if n == "current" else power, "short") for n in numbers),
            log_sigma(Read(volts), "voltage", meter.instrument),
            meter.instrument.response if meter.instrument else "true rms",
            how,
        )
    ]


def _open(part: Transformer, result: Fit, meter: Meter, mains_voltage: float, frequency: float) -> list[Candidate]:
    out = []
    top = min(mains_voltage, _plate_volts(part, frequency))
    for share in (1.0, 0.8, 0.5):
        volts = top if share == 1.0 else _round(share * top)
        if volts > meter.rating or any(0.9 < t.applied.value / volts < 1.1 for t in part.open_test):
            continue
        c = coefficients(result.theta, result.prior, result.exponent)
        state = predict(c, [BenchTest("open", volts, frequency)])
        if not state.converged.all():
            continue
        current, power = float(true_rms(state.primary_current)[0, 0]), float(state.power[0, 0])
        if current > MOST_AMPERES:
            continue
        numbers: tuple[What, ...] = ("current", "power") if reads_power(meter) else ("current",)
        how = (
            "Guard the high-voltage end at a distance, connect nothing to it and put no meter on it; core to earth. "
            f"{say(volts, 'V')} on the primary, from zero up where a variable transformer is at hand: about "
            f"{say(current, 'A')} and {say(power, 'W')} expected; stop at {say(MOST_AMPERES, 'A')}. Read on the mains "
            f"side only, with {meter.id}; switch on and off from a distance, and touch nothing before the plug is out."
        )
        out.append(
            Candidate(
                f"open test at {say(volts, 'V')}",
                meter.id,
                3,
                BenchTest("open", volts, frequency),
                numbers,
                tuple(_sigma(meter, n, current if n == "current" else power, "open") for n in numbers),
                log_sigma(Read(volts), "voltage", meter.instrument),
                meter.instrument.response if meter.instrument else "true rms",
                how,
            )
        )
    return out


def _plate_volts(part: Transformer, frequency: float) -> float:
    """Return the volts at which the primary carries its plate's flux [V rms]; infinite where no plate says."""
    if part.plate_primary is None:
        return float("inf")
    hertz = part.plate_frequency.value if part.plate_frequency else frequency
    return part.plate_primary.value * min(1.0, frequency / hertz)


def reads_power(meter: Meter) -> bool:
    """Return whether the instrument also reads watts."""
    return meter.instrument is None or "power" in meter.instrument.accuracy


def _round(volts: float) -> float:
    """Return volts that can be set on a dial: steps of 5 V, of 1 V below 20 V."""
    return max(1.0, round(volts)) if volts < 20 else 5.0 * round(volts / 5)


def _round_down(volts: float) -> float:
    """Return the volts with one or two leading digits, not above what is given."""
    step = 10.0 ** (floor(log10(volts)) - 1) * 5
    return floor(volts / step + 1e-9) * step
