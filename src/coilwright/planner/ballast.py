"""Every series-parallel form that the ballast elements of a shelf can take, and its impedance against current.

A form is a tree: ``int`` (an element class) or ``("series" | "parallel", child, child, ...)`` with at least two
children, none of its own kind. Children are kept in one fixed order, so that each form is written in one way only.
The number of forms that use n distinct elements is 1, 2, 8, 52, 472 (OEIS A006351, series-parallel networks of n
labelled edges).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations, combinations_with_replacement
from math import comb

import numpy as np
from numpy.typing import NDArray

from coilwright.planner.inventory import Element
from coilwright.planner.twoport import (
    CURRENTS,
    Complex,
    Real,
    at_current,
    choke_impedance,
    resistor_impedance,
    shorted_impedance,
)
from coilwright.supply.circuits import ChokeCircuit, TransformerCircuit

Form = int | tuple[object, ...]
#: Series-parallel networks of n labelled elements: OEIS A006351.
NETWORKS = (0, 1, 2, 8, 52, 472)
#: More forms than this are not drawn up: forms of more elements are left out instead.
FORMS = 8_000
#: Elements in one form at most: a fifth adds 472 wirings for each choice and nothing that four do not come near.
LARGEST = 4
#: Spare transformers and resistors in one form at most.
SUBSTITUTES = 2


def kind_of(form: Form) -> str:
    """Return "element", "series" or "parallel"."""
    return "element" if isinstance(form, int) else str(form[0])


def children(form: Form) -> tuple[Form, ...]:
    """Return the children of a form; none of an element."""
    return () if isinstance(form, int) else form[1:]  # type: ignore[return-value]


@lru_cache(maxsize=1 << 16)
def leaves(form: Form) -> tuple[int, ...]:
    """Return the element classes of a form from left to right."""
    if isinstance(form, int):
        return (form,)
    return tuple(k for child in children(form) for k in leaves(child))


#: A form with its leaves.
Grown = tuple[Form, tuple[int, ...]]


def forms_of(available: Sequence[int], largest: int) -> Iterator[Form]:
    """Yield every form of at most ``largest`` elements, ``available[k]`` of class k at hand, smallest first."""
    made: dict[tuple[int, str], list[Grown]] = {(1, "element"): [(k, (k,)) for k, n in enumerate(available) if n > 0]}
    yield from (form for form, _ in made[1, "element"])
    single = all(n <= 1 for n in available)
    for size in range(2, largest + 1):
        for kind, other in (("series", "parallel"), ("parallel", "series")):
            made[size, kind] = [
                ((kind, *forms), used)
                for sizes in _partitions(size, size - 1)
                for forms, used in _filled(other, sizes, made, available, single=single, chosen=(), used=())
            ]
            yield from (form for form, _ in made[size, kind])


def _partitions(total: int, most: int) -> Iterator[tuple[int, ...]]:
    if total == 0:
        yield ()
        return
    for first in range(min(total, most), 0, -1):
        for rest in _partitions(total - first, first):
            yield (first, *rest)


def _filled(
    other: str,
    sizes: tuple[int, ...],
    made: dict[tuple[int, str], list[Grown]],
    available: Sequence[int],
    *,
    single: bool,
    chosen: tuple[Form, ...],
    used: tuple[int, ...],
) -> Iterator[tuple[tuple[Form, ...], tuple[int, ...]]]:
    """Yield the children of one kind of form: multisets of smaller forms of the other kind, and of elements, largest
    first.
    """
    if not sizes:
        yield chosen, used
        return
    size = sizes[0]
    alike = sizes.count(size)
    pool = made[1, "element"] if size == 1 else made[size, other]
    groups = combinations(pool, alike) if single else combinations_with_replacement(pool, alike)
    for group in groups:
        taken = used + tuple(k for _, of in group for k in of)
        if len(set(taken)) == len(taken) or (not single and _within(taken, available)):
            forms = chosen + tuple(form for form, _ in group)
            yield from _filled(other, sizes[alike:], made, available, single=single, chosen=forms, used=taken)


def _within(taken: tuple[int, ...], available: Sequence[int]) -> bool:
    """Return whether the shelf holds enough members of every class."""
    return all(taken.count(k) <= available[k] for k in set(taken))


def largest_size(elements: int) -> int:
    """Return how many elements a form may have so that the labelled forms stay below ``FORMS``."""
    total = 0
    for size in range(1, LARGEST + 1):
        total += comb(elements, size) * NETWORKS[size]
        if total > FORMS:
            return max(size - 1, 1)
    return LARGEST


@dataclass(frozen=True)
class Catalogue:
    """Every ballast form with what it does. Row 0 is no ballast at all.

    ``impedance`` (f, 56) [ohm] and ``overload`` (f, 56) (the highest current of an element over its rating) stand
    over ``CURRENTS``; ``uses`` (f, element classes) counts members; ``count`` elements, ``substitutes`` spare
    transformers and resistors among them.
    """

    forms: tuple[Form | None, ...]
    impedance: Complex
    overload: Real
    uses: NDArray[np.int64]
    count: NDArray[np.int64]
    spares: NDArray[np.int64]
    resistors: NDArray[np.int64]

    @cached_property
    def size(self) -> Real:
        """Return the magnitude of each impedance at 5 A [ohm]."""
        return np.asarray(np.abs(self.impedance[:, int(np.searchsorted(CURRENTS, 5.0))]))

    def available(self, members: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return which forms can be made with ``members`` of each element class left."""
        return np.asarray((self.uses <= members).all(axis=1))


def element_impedance(classes: Sequence[Sequence[Element]], omega: float) -> Complex:
    """Return the impedance of the first member of each class over ``CURRENTS``, shape (classes, 56) [ohm]."""
    out = np.zeros((len(classes), CURRENTS.size), dtype=complex)
    for k, members in enumerate(classes):
        circuit = members[0].circuit
        if isinstance(circuit, ChokeCircuit):
            out[k] = choke_impedance([circuit], omega)[0]
        elif isinstance(circuit, TransformerCircuit):
            out[k] = shorted_impedance([circuit], omega)[0]
        else:
            out[k] = resistor_impedance([circuit])[0]
    return out


def catalogue(classes: Sequence[Sequence[Element]], omega: float, largest: int | None = None) -> Catalogue:
    """Return every form of the shelf's ballast elements."""
    n = len(classes)
    kinds = [members[0].kind for members in classes]
    available = [len(members) for members in classes]
    most = largest or largest_size(sum(min(a, LARGEST) for a in available))
    forms = [f for f in forms_of(available, most) if sum(kinds[k] != "choke" for k in leaves(f)) <= SUBSTITUTES]
    uses = np.zeros((len(forms) + 1, n), dtype=np.int64)
    impedance = np.zeros((len(forms) + 1, CURRENTS.size), dtype=complex)
    overload = np.zeros((len(forms) + 1, CURRENTS.size))
    table = element_impedance(classes, omega)
    rated = np.array([members[0].rated_current for members in classes])
    for rows, shape, at in _by_shape(forms):
        np.add.at(uses, (rows[:, None] + 1, at), 1)
        impedance[rows + 1], overload[rows + 1] = _solve_shape(shape, at, table, rated)
    spare = np.array([k == "spare" for k in kinds], dtype=np.int64)
    resistor = np.array([k == "resistor" for k in kinds], dtype=np.int64)
    return Catalogue((None, *forms), impedance, overload, uses, uses.sum(axis=1), uses @ spare, uses @ resistor)


def _shape(form: Form, counter: list[int]) -> Form:
    """Return the form with its elements numbered from left to right: what all forms of one shape have in common."""
    if isinstance(form, int):
        counter[0] += 1
        return counter[0] - 1
    return (kind_of(form), *(_shape(c, counter) for c in children(form)))


def _by_shape(forms: Sequence[Form]) -> Iterator[tuple[NDArray[np.int64], Form, NDArray[np.int64]]]:
    """Yield rows, shape and element classes (rows, places) of each shape that occurs."""
    rows: dict[Form, list[int]] = {}
    for row, form in enumerate(forms):
        rows.setdefault(_shape(form, [0]), []).append(row)
    for shape, at in rows.items():
        yield np.array(at), shape, np.array([leaves(forms[r]) for r in at])


def _solve_shape(shape: Form, at: NDArray[np.int64], table: Complex, rated: Real) -> tuple[Complex, Real]:
    """Return impedance and overload over ``CURRENTS`` of all forms of one shape; three passes settle the saturation."""
    places = at.shape[1]
    current = np.broadcast_to(CURRENTS, (*at.shape, CURRENTS.size))
    total = np.zeros((at.shape[0], CURRENTS.size), dtype=complex)
    for _ in range(1 if places == 1 else 3):
        z = np.asarray(at_current(table[at], current), dtype=complex)
        total = _total(shape, z)
        shares = np.empty_like(z)
        _share(shape, z, np.ones_like(total), shares)
        current = np.abs(shares) * CURRENTS
    return total, np.asarray((current / rated[at][..., None]).max(axis=1))


def _total(shape: Form, z: Complex) -> Complex:
    if isinstance(shape, int):
        return np.asarray(z[:, shape])
    parts = [_total(c, z) for c in children(shape)]
    if kind_of(shape) == "series":
        return np.asarray(sum(parts))
    return np.asarray(1 / sum(1 / p for p in parts))


def _share(shape: Form, z: Complex, share: Complex, out: Complex) -> None:
    """Write each element's share of the total current."""
    if isinstance(shape, int):
        out[:, shape] = share
        return
    together = _total(shape, z) if kind_of(shape) == "parallel" else None
    for child in children(shape):
        _share(child, z, share if together is None else share * together / _total(child, z), out)
