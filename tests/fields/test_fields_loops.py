"""Inductance of turns against exact formulas at 40 digits, published tables and the skin effect's exact solution."""

from __future__ import annotations

from math import pi, radians

import mpmath
import numpy as np
import pytest

from coilwright.fields.inductance import coupling, fluxes, mutual_between, self_inductance, tap_inductances
from coilwright.fields.loops import internal_share, loop_field, mutual_inductance, ring_self_inductance
from coilwright.fields.turns import conductor_length, cone, listed, solenoid


def test_mutual_of_rings_against_forty_digits() -> None:
    """J. C. Maxwell, Treatise (1873) art. 701, in elliptic integrals with 40 digits; far and small loops too."""
    rng = np.random.default_rng(7)
    with mpmath.workdps(40):
        for _ in range(200):
            a, b, d = (float(x) for x in 10 ** rng.uniform(-4, 1.5, 3))
            square = 4 * mpmath.mpf(a) * b / ((mpmath.mpf(a) + b) ** 2 + mpmath.mpf(d) ** 2)
            k = mpmath.sqrt(square)
            exact = 4e-7 * mpmath.pi * mpmath.sqrt(mpmath.mpf(a) * b)
            exact *= (2 / k - k) * mpmath.ellipk(square) - 2 / k * mpmath.ellipe(square)
            exact *= mpmath.mpf(4e-7 * pi) / (4e-7 * mpmath.pi)
            assert float(mutual_inductance(a, b, d) / exact) == pytest.approx(1.0, abs=1e-13)


def test_worked_example_of_two_circles() -> None:
    """E. B. Rosa and F. W. Grover, NBS Sci. Paper 169 (1916): A = 25 cm, a = 20 cm, d = 10 cm, 248.787 cm (1 cm is
    1 nH); printed value from memory.
    """
    assert float(mutual_inductance(0.25, 0.20, 0.10)) == pytest.approx(248.787e-9, abs=0.0006e-9)


# a, wire radius [m], L [uH]: volume average of exact filaments, own quadrature apart from this code (computed)
RINGS = ((0.1, 0.001, 0.620112622), (0.1, 0.01, 0.331490970), (0.1, 0.02, 0.246174727))


@pytest.mark.parametrize(("radius", "wire", "micro"), RINGS)
def test_ring_self_term(radius: float, wire: float, micro: float) -> None:
    """Rayleigh and Niven 1881, from memory, against the average of exact filaments over the section."""
    assert float(ring_self_inductance(radius, wire)) == pytest.approx(micro * 1e-6, rel=4e-6 if wire > 0.01 else 3e-7)


# a, pitch, N, bare diameter [m], sum of rings [uH] and Rosa's formula for round wire [uH]: E. B. Rosa 1906, computed
SOLENOIDS = (
    (0.055, 0.0005, 1000, 0.00045, 21743.4920309325, 21743.5154864826),
    (0.08, 0.0006, 1000, 0.0005, 37643.9564268872, 37643.9879758150),
    (0.15, 0.0127, 10, 0.006, 33.8030944550541, 33.8104849527490),
    (0.20, 0.03, 6, 0.01, 16.2475959653489, 16.2586945561662),
)


@pytest.mark.parametrize(("a", "p", "n", "d", "rings", "rosa"), SOLENOIDS)
def test_solenoids(a: float, p: float, n: int, d: float, rings: float, rosa: float) -> None:
    found = self_inductance(solenoid(a, p, n, d / 2)) * 1e6
    assert found == pytest.approx(rings, rel=1e-10)
    assert found == pytest.approx(rosa, rel=1e-3)


# r0, pitch, N, diameter, angle [deg], sum of rings [uH] (computed), and for the flat ones H. A. Wheeler, Proc. IRE 16
# (1928) 1398, flat coil, from memory
SPIRALS = (
    (0.10, 0.0127, 10, 0.00635, 0, 38.1391803170272, 38.9076076673410),
    (0.08, 0.010, 12, 0.006, 0, 44.3737799665949, 45.5402091132051),
    (0.03, 0.002, 30, 0.001, 0, 110.854304913276, 111.893907998342),
    (0.10, 0.0127, 10, 0.00635, 30, 35.2425414138302, None),
    (0.12, 0.020, 8, 0.010, 30, 27.0816820879590, None),
    (0.08, 0.010, 12, 0.006, 60, 30.7346641939643, None),
)


@pytest.mark.parametrize(("r0", "p", "n", "d", "angle", "rings", "wheeler"), SPIRALS)
def test_spirals_and_cones(
    r0: float, p: float, n: int, d: float, angle: float, rings: float, wheeler: float | None
) -> None:
    found = self_inductance(cone(r0, p, n, d / 2, angle=radians(angle))) * 1e6
    assert found == pytest.approx(rings, rel=1e-10)
    if wheeler is not None:
        assert found == pytest.approx(wheeler, rel=0.05)


# two coaxial current sheets: a1, l1, n1, a2, l2, n2, distance of the middles, M [uH], exact filaments integrated
PAIRS = (
    (0.15, 0.05, 10, 0.055, 0.50, 1000, -0.225, 134.240299069968),
    (0.15, 0.05, 10, 0.055, 0.50, 1000, 0.0, 205.328800887721),
    (0.20, 0.08, 8, 0.08, 0.60, 1200, -0.26, 231.568130895461),
    (0.12, 0.10, 12, 0.05, 0.30, 900, -0.10, 227.029280688488),
)


@pytest.mark.parametrize(("a1", "l1", "n1", "a2", "l2", "n2", "c", "micro"), PAIRS)
def test_coaxial_coils(a1: float, l1: float, n1: int, a2: float, l2: float, n2: int, c: float, micro: float) -> None:
    """Sheets of many fine turns come within a thousandth of the exact sheet (J. C. Maxwell 1873, integrated)."""
    one = solenoid(a1, l1 / n1, n1, 1e-4, base=c - l1 / 2)
    two = solenoid(a2, l2 / n2, n2, 1e-5, base=-l2 / 2)
    assert mutual_between(one, two) * 1e6 == pytest.approx(micro, rel=1e-3)
    assert mutual_between(one, two) == pytest.approx(mutual_between(two, one), rel=1e-5)


def test_dense_winding_seen_from_afar_is_the_sum_of_its_turns() -> None:
    far = cone(0.09, 0.0125, 12, 0.003, base=0.2)
    winding = solenoid(0.055, 0.0005, 1000, 0.0002, base=0.25)
    plain = mutual_inductance(
        far.radius[:, None], winding.radius[None, :], far.height[:, None] - winding.height[None, :]
    )
    assert fluxes(winding, far) == pytest.approx(plain.sum(axis=1), rel=1e-5)


def test_taps_begin_at_nothing_and_end_at_the_whole() -> None:
    turns = cone(0.09, 0.0125, 11.4, 0.003, base=0.25)
    taps = tap_inductances(turns, [0.0, 1.0, 5.5, 11.4])
    assert taps[0] == 0.0
    assert taps[1] == pytest.approx(float(ring_self_inductance(turns.radius[0], 0.003)))
    assert taps[3] == pytest.approx(self_inductance(turns))
    assert (np.diff(tap_inductances(turns, np.linspace(0, 11.4, 60))) > 0).all()
    with pytest.raises(ValueError, match=r"between 0 and 11\.4 turns"):
        tap_inductances(turns, [12.0])


def test_lists_of_turns_are_the_same_winding() -> None:
    helix = solenoid(0.1, 0.01, 6, 0.002)
    same = listed(helix.radius, helix.height, 0.002)
    assert self_inductance(same) == pytest.approx(self_inductance(helix), rel=1e-12)
    assert conductor_length(solenoid(0.055, 0.0005, 1000, 0.0002)) == pytest.approx(2 * pi * 55.0, rel=1e-4)
    assert 0 < coupling(1e-6, 2e-6, 3e-6) < 1


# diameter over skin depth, internal inductance over its value at direct current: exact Bessel solution, 30 digits
INTERNAL = ((0.5, 0.999959312765479), (2, 0.989767993126011), (6, 0.650686942528054), (20, 0.199585100995755),
            (100, 0.0399969392131269))  # fmt: skip


@pytest.mark.parametrize(("ratio", "share"), INTERNAL)
def test_internal_inductance(ratio: float, share: float) -> None:
    """Lord Kelvin 1889, computed."""
    assert float(internal_share(ratio / 2, 1.0)) == pytest.approx(share, rel=1e-9)


def test_field_is_the_gradient_of_the_mutual_flux() -> None:
    """2 pi r B_z = d(flux)/dr and -2 pi r B_r = d(flux)/dz of the exact mutual inductance; on the axis mu0 / 2 a."""
    r, z, h = np.array([0.03, 0.12, 0.3]), np.array([0.02, 0.05, -0.1]), 1e-5
    br, bz = loop_field(0.1, r, z)
    assert 2 * pi * r * bz == pytest.approx(
        (mutual_inductance(0.1, r + h, z) - mutual_inductance(0.1, r - h, z)) / (2 * h), rel=1e-6
    )
    assert -2 * pi * r * br == pytest.approx(
        (mutual_inductance(0.1, r, z + h) - mutual_inductance(0.1, r, z - h)) / (2 * h), rel=1e-6
    )
    assert float(loop_field(0.1, 0.0, 0.0)[1]) == pytest.approx(4e-7 * pi / 0.2)


def test_radii_must_be_positive() -> None:
    with pytest.raises(ValueError, match="positive"):
        mutual_inductance(-0.1, 0.1, 0.1)
    with pytest.raises(ValueError, match="between zero"):
        ring_self_inductance(0.1, 0.1)
