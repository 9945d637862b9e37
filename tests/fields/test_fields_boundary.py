"""Capacitances and peak fields of the boundary elements against exact series, and the order in which they converge."""

from __future__ import annotations

from dataclasses import replace
from math import acosh, pi, sinh, sqrt

import numpy as np
import pytest

from coilwright.fields.bodies import Dome, Flat, Round, merged, toroid
from coilwright.fields.boundary import Charges, capacitance_matrix, peak_field, solve_charges
from coilwright.fields.outline import Curve, disc, mesh, sphere, torus
from coilwright.model.constants import EPSILON_0


def _solved(*curves: Curve, ground: bool = False, order: int = 8) -> Charges:
    return solve_charges(mesh(curves, order), ground=ground)


def _capacitance(*curves: Curve, ground: bool = False, order: int = 8) -> float:
    return float(capacitance_matrix(_solved(*curves, ground=ground, order=order), 1)[0, 0])


def _over_plane(radius: float, height: float) -> float:
    """Exact image series of a sphere over a plane: Lord Kelvin; J. C. Maxwell, Treatise (1873) ch. XI."""
    u = acosh(height / radius)
    return 4 * pi * EPSILON_0 * radius * sinh(u) * sum(1 / sinh(n * u) for n in range(1, int(600 / u)))


def test_sphere_and_disc() -> None:
    """4 pi eps0 a (Coulomb) and 8 eps0 a (Lord Kelvin 1855)."""
    assert _capacitance(sphere(0.1, 0.0)) == pytest.approx(4 * pi * EPSILON_0 * 0.1, rel=1e-6)
    assert _capacitance(disc(0.1, 0.0)) == pytest.approx(8 * EPSILON_0 * 0.1, rel=1e-6)


# ring radius, tube radius [m], C [pF], field at the outer equator for 1 V [1/m]: toroidal harmonics, W. M. Hicks 1881;
# N. N. Lebedev, Special Functions (1965) sec. 8.10, computed; one row of the series was seen in print elsewhere
TORI = (
    (0.20, 0.05, 20.7380384498775, 8.16326813252806),
    (0.15, 0.05, 17.2003146078520, 9.12090436983662),
    (0.30, 0.05, 27.4976580409789, 6.98285264837476),
    (0.50, 0.05, 40.1494142754265, 5.78856239192576),
    (0.12, 0.10, 20.9446825324008, 6.28428888790709),
    (0.30, 0.20, 46.5295477110191, 2.92680112976485),
)


@pytest.mark.parametrize(("ring", "tube", "pico", "field"), TORI)
def test_torus_alone(ring: float, tube: float, pico: float, field: float) -> None:
    made = _solved(torus(ring, tube, 0.0, panels=4 if ring < 2 * tube else 2))
    assert float(capacitance_matrix(made, 1)[0, 0]) == pytest.approx(pico * 1e-12, rel=1e-5)
    peak, rho, z = peak_field(made, made.of(np.ones(made.mesh.size)), 0)
    assert peak == pytest.approx(field, rel=1e-3)
    assert (rho, z) == pytest.approx((ring + tube, 0.0), abs=0.01)


@pytest.mark.parametrize(("height", "panels"), [(0.15, 2), (0.11, 3), (0.3, 1), (0.105, 6)])
def test_sphere_over_plane(height: float, panels: int) -> None:
    found = _capacitance(sphere(0.1, height, panels=panels), ground=True)
    assert found == pytest.approx(_over_plane(0.1, height), rel=1e-5)


def test_peak_field_near_the_plane() -> None:
    """The field under a sphere close to a plane is that of the gap of two spheres at opposite volts, of which the plane
    is the middle: enhancement 1.1371 at a gap of a fifth of the diameter (exact images, Maxwell ch. XI, computed).
    """
    radius, gap = 0.1, 0.02  # from the plane: a gap of 0.04 between sphere and image, a fifth of the diameter
    made = _solved(sphere(radius, radius + gap, panels=4), ground=True)
    peak, rho, z = peak_field(made, made.of(np.ones(made.mesh.size)), 0)
    assert peak * gap == pytest.approx(1.13707394, rel=1e-3)
    assert (rho, z) == pytest.approx((0.0, gap), abs=5e-3)


def test_two_spheres() -> None:
    """c11 and c12 in units of 4 pi eps0 a at a gap of half a diameter: exact images, computed."""
    one, two = sphere(1.0, 0.0, panels=2), replace(sphere(1.0, 3.0, panels=2), body=1)
    c = capacitance_matrix(_solved(one, two), 2) / (4 * pi * EPSILON_0)
    assert c[0, 0] == pytest.approx(1.14628744194113, rel=1e-5)
    assert c[0, 1] == pytest.approx(-0.389083066895123, rel=1e-5)


# ring, tube, height of the centre, C [pF], peak field for 1 V: own spectral method with another quadrature (R. Kress
# 1990), kept apart from this code
OVER_PLANE = ((0.2, 0.05, 0.1, 52.4150425360, 26.381171303), (0.2, 0.05, 0.2, 33.7777922477, 13.412317365),
              (0.5, 0.1, 1.0, 60.7497746762, 4.671298450))  # fmt: skip


@pytest.mark.parametrize(("ring", "tube", "height", "pico", "field"), OVER_PLANE)
def test_torus_over_plane(ring: float, tube: float, height: float, pico: float, field: float) -> None:
    made = _solved(torus(ring, tube, height, panels=4), ground=True)
    assert float(capacitance_matrix(made, 1)[0, 0]) == pytest.approx(pico * 1e-12, rel=1e-5)
    assert peak_field(made, made.of(np.ones(made.mesh.size)), 0)[0] == pytest.approx(field, rel=1e-3)


def test_overlapping_bodies_count_once() -> None:
    """A disc that closes a toroid's hole adds nothing where it lies inside the tube; of two spheres one inside the
    other only the larger counts.
    """
    ring = toroid(0.3, 0.1, 1.0)
    assert _capacitance(*merged([ring, Flat(0.15, 1.0)])) == pytest.approx(
        _capacitance(*merged([ring, Flat(0.12, 1.0)])), rel=1e-5
    )
    inside = merged([Round(0.0, 0.0, 0.1), Round(0.0, 0.01, 0.05)])
    assert _capacitance(*inside) == pytest.approx(4 * pi * EPSILON_0 * 0.1, rel=1e-6)


def test_spheres_that_cut_at_right_angles() -> None:
    """Two equal spheres that meet at right angles: 4 pi eps0 a (2 - 1/sqrt 2), by inversion (Lord Kelvin; W. R. Smythe,
    Static and Dynamic Electricity, from memory).
    """
    found = _capacitance(*merged([Round(0.0, 0.0, 0.1, 4), Round(0.0, 0.1 * sqrt(2), 0.1, 4)]))
    assert found == pytest.approx(4 * pi * EPSILON_0 * 0.1 * (2 - 1 / sqrt(2)), rel=1e-4)


def test_hemispherical_bowl() -> None:
    """A thin bowl of half a sphere: 4 pi eps0 a (1/2 + 1/pi) (Lord Kelvin 1869; Smythe, from memory)."""
    assert _capacitance(*merged([Dome(0.1, 0.0, 2)])) == pytest.approx(
        4 * pi * EPSILON_0 * 0.1 * (0.5 + 1 / pi), rel=1e-5
    )


def test_more_nodes_converge_faster_than_any_power() -> None:
    """Spectral: two nodes more leave less than a tenth of the error, down to the quadrature's floor."""
    exact = 20.7380384498775e-12
    errors = [abs(_capacitance(torus(0.2, 0.05, 0.0, panels=2), order=n) / exact - 1) for n in (2, 4, 6)]
    assert errors[0] > 10 * errors[1] > 100 * errors[2]


def test_torus_must_have_a_hole() -> None:
    with pytest.raises(ValueError, match="thinner"):
        torus(0.1, 0.1, 0.0)
    with pytest.raises(ValueError, match="thinner"):
        toroid(0.1, 0.1, 0.0)
