"""The one reading that a choke without any needs: volts, amperes and watts at its marked current."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from coilwright.measurement.choke import ChokeFit, choke_bands, choke_currents, fit_choke
from coilwright.measurement.findings import say
from coilwright.measurement.next_reading import MOST_AMPERES, meter_for, reads_power
from coilwright.model.parts import Choke, ChokeTest, Instrument, Read, Stamp

HAZARD = 2
HAZARD_WORDS = "mains drive on bare terminals: guard them, and touch nothing before the plug is out"


@dataclass(frozen=True)
class AskedOfChoke:
    """The reading, its instrument, how, and the band of the impedance across the mains before and after [ohm]."""

    what: str
    instrument: str
    how: str
    before: tuple[float, float]
    after: tuple[float, float]


def next_of_choke(
    choke: Choke, fit: ChokeFit, instruments: Mapping[str, Instrument], mains_voltage: float
) -> AskedOfChoke | None:
    """Return what to read on a choke, None where a test is in or no instrument can take one."""
    meter = meter_for(instruments, ("voltage", "current", "power"), 0.0)
    if choke.test or meter is None:
        return None
    now = choke_bands(fit, choke, mains_voltage)
    limit = min(mains_voltage, meter.rating)
    wanted = min(1.0, MOST_AMPERES / fit.rated_current) * now["rated_voltage"][0]
    volts = min(5.0 * max(round(wanted / 5), 1), limit)
    amperes = float(choke_currents(fit.circuit, np.array([volts]), fit.frequency)[0])
    stamp = Stamp(meter.id if meter.instrument is not None else None)
    # The test is taken with the gap as it stands now; the fit counts tests at the gap they were taken with.
    tested = replace(choke, test=(ChokeTest(Read(volts), Read(amperes / choke.gap_ratio), stamp=stamp),))
    later = fit_choke(tested, instruments, fit.frequency, mains_voltage)
    if later is None or not later.solved.converged:
        return None
    after = choke_bands(later, choke, mains_voltage)
    numbers = "volts, amperes and watts" if reads_power(meter) else "volts and amperes"
    how = (
        f"The choke alone on a variable transformer, from zero up to about {say(volts, 'V')}: {say(amperes, 'A')} "
        f"expected; not above {say(limit, 'V')}. Read {numbers} with {meter.id}; a second point at half of it "
        f"shows how "
        "far the choke saturates."
    )
    if choke.gap_ratio != 1:
        how += " The test counts for the gap as it is now: write gap_ratio = 1 with it."
    return AskedOfChoke(
        f"test at about {say(amperes, 'A')}", meter.id, how, now["impedance"][1:], after["impedance"][1:]
    )
