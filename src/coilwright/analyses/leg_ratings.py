"""Every rating that the peak with the gap missing could break, and that a safety gap must stay below: one list for all
who ask: tags, gates, tank stage.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import nan, sqrt

from coilwright.analyses.missing_scan import HighestMissing
from coilwright.analyses.stress import Limits
from coilwright.analyses.tank import tank_unit
from coilwright.analyses.tank_filter import filter_places
from coilwright.analyses.tank_plates import plate_places
from coilwright.analyses.tank_strings import string_places
from coilwright.analyses.topology import Wired
from coilwright.capacitors.film import unit_of
from coilwright.model.design import Design
from coilwright.model.known import Known
from coilwright.protection.facts import Rating

#: Added to the place of a winding end of which no rating is known; it counts as 0 V.
NO_RATING = "(no rating known)"


def leg_ratings(
    design: Design, w: Wired, limits: Mapping[str, Limits], missing: HighestMissing | None
) -> tuple[Rating, ...]:
    """Return the ratings of winding ends to their cores, of the tank's string or plates across, of the filter.

    The peak of a rating is the highest with the gap missing, not-a-number where it is not known. The limit of a winding
    end without a known rating is 0.
    """
    end = across = nan
    usual_end = usual_across = None
    if missing is not None:
        end, across, usual_across = max(missing.ends_peak.values(), default=nan), missing.peak, missing.usual
        usual_end = max(missing.ends_usual.values(), default=None)
    found = [
        Rating(where, end, sqrt(2) * k.value, k.mark, usual=usual_end) for where, _, k in winding_limits(w, limits)
    ]
    part, strings = tank_unit(design), design.tank.strings if design.tank else None
    for place in string_places(design):
        rated = None if part is None else unit_of(part).rated_peak
        if rated is not None and strings is not None:
            nominal, worst = rated.value * strings.series, place.limit_peak
            found.append(Rating(place.where, across, nominal, rated.mark, True, worst, usual_across))
    found += [Rating(p.where, across, p.limit_peak, p.mark, True, None, usual_across) for p in plate_places(design)]
    found += [Rating(p.where, end, p.limit_peak, p.mark, usual=usual_end) for p in filter_places(design)]
    return tuple(found)


def winding_limits(w: Wired, limits: Mapping[str, Limits]) -> Iterator[tuple[str, str, Known[float]]]:
    """Yield (place, joint, limit to the core [V rms]) of each end of a high winding that is not at core potential.

    An end with no known rating (counted at 0 V: the inner one, or either where that is not known) says so in its place.
    """
    for name in w.high_units():
        core = w.node(f"{name}.core")
        ends = zip(("start", "finish"), w.high_ends(name), strict=True)
        for end, joint in ends:
            if w.kept_tie(name) == end or joint == core:
                continue
            known = limits[name].start_to_core if end == "start" else limits[name].finish_to_core
            where = f"{name}.high {end} to core"
            yield (where if known.value > 0 else f"{where} {NO_RATING}"), joint, known


__all__ = ["NO_RATING", "leg_ratings", "winding_limits"]
