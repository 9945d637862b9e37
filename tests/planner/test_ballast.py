"""Ballast forms: their number, and what they do to a current."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np
import pytest
from benchmarks.planner_shelves import choke_circuit, oven_circuit

from coilwright.planner.ballast import Catalogue, Form, catalogue, forms_of, largest_size, leaves
from coilwright.planner.inventory import Element
from coilwright.planner.twoport import CURRENTS, at_current, choke_impedance
from coilwright.supply.circuits import ResistorCircuit

OMEGA = 2 * np.pi * 50


def resistors(*ohms: float) -> list[list[Element]]:
    return [[Element(f"R{k}", f"R{k}", "resistor", ResistorCircuit(r), 1.0)] for k, r in enumerate(ohms)]


def chokes(*reactances: float) -> list[list[Element]]:
    return [[Element(f"B{k}", f"B{k}", "choke", choke_circuit(x, 1e4), 1.0)] for k, x in enumerate(reactances)]


@pytest.mark.parametrize(("n", "count"), [(1, 1), (2, 2), (3, 8), (4, 52), (5, 472)])
def test_the_forms_of_n_unlike_elements_are_the_series_parallel_networks(n: int, count: int) -> None:
    # N. J. A. Sloane (ed.), The On-Line Encyclopedia of Integer Sequences, A006351: series-parallel networks with n
    # labelled edges, 1, 2, 8, 52, 472.
    made = [f for f in forms_of([1] * n, n) if len(leaves(f)) == n]
    assert len(made) == count
    assert len(set(made)) == count


@pytest.mark.parametrize(("n", "count"), [(1, 1), (2, 2), (3, 4), (4, 10), (5, 24)])
def test_the_forms_of_n_equal_elements_are_the_unlabelled_series_parallel_networks(n: int, count: int) -> None:
    # OEIS A000084: series-parallel networks with n unlabelled edges, 1, 2, 4, 10, 24 (P. A. MacMahon, "The combinations
    # of resistances", The Electrician 28 (1892) 601, counted them as resistances).
    assert sum(len(leaves(f)) == n for f in forms_of([n], n)) == count


def test_no_form_takes_more_of_a_class_than_there_is() -> None:
    for form in forms_of([2, 1], 3):
        assert leaves(form).count(0) <= 2
        assert leaves(form).count(1) <= 1


def test_long_shelves_get_smaller_forms() -> None:
    assert largest_size(4) == 4
    assert largest_size(18) == 3


def row_of(made: Catalogue, form: Form) -> int:
    return made.forms.index(form)


def total(form: Form, ohms: Sequence[float]) -> float:
    if isinstance(form, int):
        return ohms[form]
    parts = [total(f, ohms) for f in form[1:]]  # type: ignore[arg-type]
    return sum(parts) if form[0] == "series" else 1 / sum(1 / p for p in parts)


def test_resistances_add_in_series_and_conductances_in_parallel() -> None:
    # Ohm's law, worked by the recursion above for every one of the forms of three unlike elements, chokes as lossless
    # reactances far below saturation being the same algebra.
    ohms = (3.0, 6.0, 10.0)
    for made in (catalogue(resistors(*ohms)[:2], OMEGA), catalogue(chokes(*ohms), OMEGA)):
        for row, form in enumerate(made.forms):
            if form is not None:
                assert abs(made.impedance[row, 20]) == pytest.approx(total(form, ohms), rel=3e-3)


def test_a_current_divides_against_the_impedances() -> None:
    # 6 ohm beside 3 ohm: two thirds of the current through the 3 ohm (common practice, no source).
    made = catalogue(resistors(3.0, 6.0), OMEGA)
    row = row_of(made, ("parallel", 0, 1))
    overload = at_current(made.overload[row : row + 1], np.array([[9.0]]))
    assert float(np.real(overload[0, 0])) == pytest.approx(6.0, rel=5e-3)


def test_a_choke_saturates_in_the_table_as_its_iron_does() -> None:
    choke = choke_circuit(40.0, 4.6)
    z = np.abs(choke_impedance([choke], OMEGA)[0])
    assert z[0] == pytest.approx(40.0, rel=0.02)
    # At twice its rating the impedance lies between what is left in full saturation and the unsaturated one.
    at_twice = float(np.abs(at_current(choke_impedance([choke], OMEGA), np.array([[9.2]]))[0, 0]))
    assert OMEGA * choke.air_inductance < at_twice < 0.9 * 40.0
    flux = sqrt(2) * 9.2 * (at_twice / OMEGA)
    assert flux > choke.iron.knee_flux * 0.9


def test_a_spare_transformer_chokes_with_its_leakage() -> None:
    # A shorted high winding leaves the leakage reactance (A. E. Fitzgerald, Electric Machinery, section 2.5: the
    # short-circuit test reads the equivalent leakage reactance), here beside the primary limb's own.
    unit = oven_circuit(9.55, 1000.0)
    spare = Element("T9", "T9", "spare", unit, 4.3)
    made = catalogue([[spare]], OMEGA)
    small = made.impedance[row_of(made, 0), 5]
    limb, leak = unit.primary_limb.inductance, unit.leakage_inductance
    assert small.imag == pytest.approx(OMEGA * limb * leak / (limb + leak), rel=0.01)
    assert small.real == pytest.approx(unit.primary_resistance + unit.secondary_resistance / unit.ratio**2, rel=0.05)
    assert CURRENTS[5] < 0.1
