"""Every rating that the peak with the gap missing could break, and that a safety gap must stay below: one list for all
who ask: tags, gates, tank stage.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import nan, sqrt

from coilwright.analyses.results import GapMissingPoint
from coilwright.analyses.stress import Limits
from coilwright.analyses.tank import tank_unit
from coilwright.analyses.tank_filter import filter_places
from coilwright.analyses.tank_plates import plate_places
from coilwright.analyses.tank_strings import string_places
from coilwright.analyses.topology import Wired
from coilwright.capacitors.film import unit_of
from coilwright.model.design import Design
from coilwright.protection.facts import Rating


def leg_ratings(
    design: Design, w: Wired, limits: Mapping[str, Limits], own: GapMissingPoint | None
) -> tuple[Rating, ...]:
    """Return the ratings of winding ends to their cores, of the tank's string or plates across, of the filter.

    The peak of a rating is that with the gap missing, not-a-number where it is not known.
    """
    end = max(own.ends_peak.values()) if own is not None and own.ends_peak else nan
    across = own.peak if own is not None else nan
    found = [
        Rating(f"{name}.high {e} to core", end, sqrt(2) * k.value, k.mark)
        for name in w.high_units()
        for e, k in (("start", limits[name].start_to_core), ("finish", limits[name].finish_to_core))
        if w.kept_tie(name) != e and k.value > 0
    ]
    part, strings = tank_unit(design), design.tank.strings if design.tank else None
    for place in string_places(design):
        rated = None if part is None else unit_of(part).rated_peak
        if rated is not None and strings is not None:
            nominal = rated.value * strings.series
            found.append(Rating(place.where, across, nominal, rated.mark, across=True, worst_limit=place.limit_peak))
    found += [Rating(p.where, across, p.limit_peak, p.mark, across=True) for p in plate_places(design)]
    found += [Rating(p.where, end, p.limit_peak, p.mark) for p in filter_places(design)]
    return tuple(found)


__all__ = ["leg_ratings"]
