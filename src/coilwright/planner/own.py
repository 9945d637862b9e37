"""The quick estimate of supplies that have a ballast of their own for each string of primaries.

Here the strings do not share one voltage, so a stage cannot be tabulated by itself: each candidate's units are joined
with their ballast in front of them, at the flux and currents that the common ballast of the same elements would give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from coilwright.planner.ballast import Catalogue
from coilwright.planner.candidate import own_forms, strings_of
from coilwright.planner.inventory import Inventory
from coilwright.planner.screen import Estimate, Index, group_numbers, join
from coilwright.planner.stages import Feed, Stage
from coilwright.planner.twoport import CURRENTS, Complex, Real, Units, at_current, nearest

#: Strings of primaries at most of which every deal is estimated.
MOST_STRINGS = 3
#: Deals of one form at most.
MOST_DEALS = 6
#: Primary volts of the open table, as shares of what the feed gives.
SHARES: Real = np.linspace(0.40, 1.06, 34)


@dataclass
class Deals:
    """The ways of dealing the branches of parallel forms out to strings; each is a row of catalogue rows, numbered
    once.
    """

    forms: Catalogue
    rows: list[tuple[int, ...]] = field(default_factory=list)
    _row_of: dict[object, int] = field(default_factory=dict)
    _known: dict[tuple[int, int], tuple[int, ...]] = field(default_factory=dict)

    def of(self, form_row: int, n_strings: int) -> tuple[int, ...]:
        """Return the numbers of the deals of a form to that many strings; none where it has another number of
        branches.
        """
        key = (form_row, n_strings)
        if key not in self._known:
            if not self._row_of:
                self._row_of = {form: k for k, form in enumerate(self.forms.forms)}
            form = self.forms.forms[form_row]
            made = []
            for deal in () if form is None else list(own_forms(form, n_strings))[:MOST_DEALS]:
                self.rows.append(tuple(self._row_of[branch] for branch in deal))
                made.append(len(self.rows) - 1)
            self._known[key] = tuple(made)
        return self._known[key]


@dataclass(frozen=True)
class Pairs:
    """Candidates of one feed, one number of units and one number in series: stage, its deal, and the amperes it takes
    [A].
    """

    stages: Sequence[Stage]
    deals: Index  # (n, strings), rows of the catalogue
    current: Real  # (n,) of the stage, shorted, behind the same elements in the common line


def string_numbers(stage: Stage) -> tuple[int, ...]:
    """Return the string that each unit's primary is in."""
    n_up = sum(len(g) for g in stage.high.up)
    order = strings_of(tuple(range(len(stage.high.classes))), n_up, stage.series)
    place = {unit: k for k, string in enumerate(order) for unit in string}
    return tuple(place[u] for u in range(len(place)))


def estimate_own(pairs: Pairs, forms: Catalogue, inventory: Inventory, feed: Feed, omega: float) -> Estimate:
    """Return the estimate of each candidate."""
    series = pairs.stages[0].series
    members = [m[0] for m in inventory.unit_classes]
    units = Units.of([m.circuit for m in members], omega)
    rated = np.array([m.rated_current for m in members])
    classes = np.array([s.high.classes for s in pairs.stages])
    string = np.array([string_numbers(s) for s in pairs.stages])
    group = np.array([group_numbers(s) for s in pairs.stages])
    scale = np.array([[series, series], [1 / series, 1 / series]])
    n_strings = pairs.deals.shape[1]
    tables = forms.impedance[pairs.deals]  # (n, strings, currents)
    volts = SHARES * feed.volts / series
    tabled = units.open_chain(np.broadcast_to(volts, (len(members), volts.size)))
    at, idle = np.full(classes.shape, int(np.searchsorted(SHARES, 0.92))), np.zeros(classes.shape)
    joined, at_input = join((tabled[classes, at] * scale)[:, :, None], group), np.full(len(classes), feed.volts + 0j)
    for _ in range(4):
        z = at_string(tables, string, idle) * series
        joined = join(before(tabled[classes, at] * scale, z)[:, :, None], group)
        at_input = feed.volts / (1 + feed.impedance * joined.c[:, 0] / joined.a[:, 0])
        drawn = joined.idle()[..., 0]
        idle = np.abs(drawn * at_input[:, None]) * series
        left = np.abs((1 - z * drawn) * at_input[:, None]) / feed.volts
        at = np.clip(np.rint((left - SHARES[0]) / (SHARES[1] - SHARES[0])), 0, SHARES.size - 1).astype(np.int64)
    admittance, gain = joined.c[:, 0] / joined.a[:, 0], 1 / joined.a[:, 0]
    share = np.repeat(pairs.current[:, None] / n_strings, classes.shape[1], axis=1)
    tabled = units.short_chain(np.broadcast_to(CURRENTS, (len(members), CURRENTS.size)))
    current, through, primary = pairs.current, at_input, share
    for _ in range(4):
        shorted = tabled[classes, nearest(primary)] * scale
        joined = join(before(shorted, at_string(tables, string, primary) * series)[:, :, None], group)
        z_in = joined.b[:, 0] / joined.d[:, 0]
        through = feed.volts / (z_in + feed.impedance)
        primary = np.abs(joined.taken()[..., 0]) * np.abs(through * z_in)[:, None] * series
        current = np.abs(through)
    v_open, i_short = at_input * gain, through / joined.d[:, 0]
    i_open = at_input * admittance
    z_out = v_open / i_short
    best = i_open + (through - i_open) * z_out / (z_out + np.abs(z_out))
    overload = at_string(forms.overload[pairs.deals], string, primary)
    load = np.maximum(np.real(overload), primary / rated[classes]).max(axis=1)
    ratio = feed.ratio
    return Estimate(
        np.abs(v_open),
        np.abs(i_short),
        i_open * ratio,
        np.asarray(through * ratio, dtype=complex),
        best * ratio,
        load,
        current,
    )


def at_string(tables: Complex | Real, string: Index, current: Real) -> Complex:
    """Return the figure (n, units) of each unit's string at its current, of tables (n, strings, currents)."""
    mine: Complex = np.asarray(np.take_along_axis(tables, string[..., None], axis=1), dtype=complex)
    return np.asarray(at_current(mine, current[..., None])[..., 0], dtype=complex)


def before(chains: Complex, z: Complex) -> Complex:
    """Return chains (..., 2, 2) with an impedance in series before them."""
    out = chains.copy()
    out[..., 0, :] += z[..., None] * chains[..., 1, :]
    return out
