"""Resonances of whole windings against another model's numbers and against coils that were measured."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from coilwright.fields.boundary import NO_RINGS, Rings, solve_charges
from coilwright.fields.breakout import inception_field
from coilwright.fields.inductance import offsets, self_inductance
from coilwright.fields.modes import Mode, modal_capacitance, modal_inductance, modes, profile
from coilwright.fields.outline import cylinder, mesh, torus
from coilwright.fields.resistance import row_factors, skin_depth, skin_factor, winding_losses
from coilwright.fields.turn_capacitance import grating_share
from coilwright.fields.turns import cone, solenoid


def _modes(
    radius: float,
    length: float,
    n: int,
    wire: float,
    base: float,
    *,
    ground: bool = True,
    internal: float = 0.0,
    top: bool = False,
    rings: Rings = NO_RINGS,
    panels: int = 3,
    count: int = 14,
) -> tuple[Mode, ...]:
    curves = [cylinder(radius, base, base + length, panels=panels)]
    if top:
        curves.append(replace(torus(0.15, 0.05, base + length + 0.1, panels=2), body=1))
    charges = solve_charges(mesh(curves), rings, ground=ground)
    turns = solenoid(radius, length / n, n, wire / 2, base=base)
    c = modal_capacitance(charges, 0, 1 if top else None, count).matrix
    return modes(modal_inductance(turns, offsets(turns, internal), count), c)


# a, l [m], N, plane below the base [m], f1, f2, f3 [kHz], inductance of the sheet [mH]: current and charge sheets by
# Rayleigh and Ritz, other code (computed)
SHEETS = (
    (0.055, 0.5, 1000, None, 405.5057, 974.756, 1411.12, 21.798),
    (0.055, 0.5, 1000, 0.05, 386.9091, 954.827, 1397.44, 21.798),
    (0.055, 0.5, 1000, 0.3, 394.3093, 967.449, 1407.01, 21.798),
    (0.05, 0.3, 900, None, 449.303, 1065.95, 1555.73, 23.2432),
    (0.15, 1.0, 1000, 0.2, 132.3848, 323.431, 474.662, 78.5051),
)


@pytest.mark.parametrize(("a", "l", "n", "plane", "f1", "f2", "f3", "milli"), SHEETS)
def test_modes_against_a_model_of_sheets(
    a: float, l: float, n: int, plane: float | None, f1: float, f2: float, f3: float, milli: float
) -> None:
    """Round turns have a little less inductance than a sheet, and the frequency is held against that alone."""
    found = _modes(a, l, n, 0.4 * l / n, plane or 0.0, ground=plane is not None)
    rounder = sqrt(self_inductance(solenoid(a, l / n, n, 0.2 * l / n), 0.0) / (milli * 1e-3))
    for mode, theirs in zip(found, (f1, f2, f3), strict=True):
        assert mode.frequency * rounder / 1e3 == pytest.approx(theirs, rel=3e-3)


# R, height [m], turns, wire [m], base over earth [m], f1 [kHz] measured: P. Nicholson, public mailing-list post
# "secondary resonant frequency", 2001, seen; coils chosen by the poster
MEASURED = (
    (0.29, 1.6, 725, 2.053e-3, 0.15, 90.9),
    (0.29, 0.8, 365, 2.053e-3, 0.15, 150.7),
    (0.1303, 0.762, 1001, 0.511e-3, 0.025, 148.4),
)


@pytest.mark.parametrize(("radius", "height", "n", "wire", "base", "kilo"), MEASURED)
def test_measured_coils(radius: float, height: float, n: int, wire: float, base: float, kilo: float) -> None:
    """Within 2.5 % with the earth as a plane for the electric field alone."""
    found = _modes(radius, height, n, wire, base)[0]
    assert found.frequency / 1e3 == pytest.approx(kilo, rel=0.025)
    assert found.frequency / 1e3 < kilo  # a plane that mirrors no magnetic field leaves it low


def test_numbers_of_a_whole_set() -> None:
    """Secondary with primary, rail and toroid: this formulation in other code gave 238.575 kHz, 21.734 mH, 20.545 pF
    (computed).
    """
    rho = np.concatenate([0.09 + 0.0125 * (np.arange(12) + 0.5), [0.28]])
    rings = Rings(rho, np.array([0.25] * 12 + [0.30]), np.full(13, 0.003), np.full(13, 2))
    mode = _modes(0.055, 0.5, 1000, 0.4e-3, 0.25, top=True, rings=rings)[0]
    assert mode.frequency == pytest.approx(238575.0, rel=1e-5)
    assert mode.effective_capacitance == pytest.approx(20.545e-12, rel=1e-4)
    assert mode.base_inductance == pytest.approx(19.600e-3, rel=1e-4)
    assert mode.effective_inductance == pytest.approx(1 / ((2 * pi * mode.frequency) ** 2 * mode.effective_capacitance))
    volts, amps = profile(mode, np.array([-1.0, 0.0, 1.0]))
    assert volts[0] == pytest.approx(0.0, abs=1e-9)
    assert volts[2] == pytest.approx(1.0)
    assert 0 < volts[1] < 1
    assert amps[0] > amps[1] > amps[2] > 0  # what is left at the top charges the toroid


def test_modes_have_converged() -> None:
    coarse = _modes(0.055, 0.5, 1000, 0.4e-3, 0.25)
    fine = _modes(0.055, 0.5, 1000, 0.4e-3, 0.25, panels=6, count=24)
    for a, b in zip(coarse, fine, strict=True):
        assert a.frequency == pytest.approx(b.frequency, rel=1e-4)


# pitch over diameter, factor of an endless coil with a thin skin: R. G. Medhurst, Wireless Engineer 24 (1947), as in a
# public notebook (seen) and from memory
MEDHURST = ((1.111, 3.11), (1.25, 2.815), (1.429, 2.51), (1.667, 2.22), (2.0, 1.93), (2.5, 1.65), (3.333, 1.395),
            (5.0, 1.19), (10.0, 1.05))  # fmt: skip


@pytest.mark.parametrize(("ratio", "phi"), MEDHURST)
def test_proximity_of_an_endless_coil(ratio: float, phi: float) -> None:
    """Half of the field inside acts on the winding: I / 2 p."""
    f = row_factors(0.5e-3, ratio * 1e-3, 0.5e-3 / 100)
    assert f.own + f.axial / 4 == pytest.approx(phi, rel=0.02)


# l/D, pitch over diameter, Medhurst's factor of a finite coil (seen as above)
FINITE = ((1.0, 2.0, 1.67), (2.0, 2.0, 1.74), (4.0, 2.0, 1.78), (2.0, 1.429, 2.32), (4.0, 1.667, 2.01))


@pytest.mark.parametrize(("slender", "ratio", "phi"), FINITE)
def test_proximity_of_finite_coils(slender: float, ratio: float, phi: float) -> None:
    n, wire = 40, 1e-3
    pitch = ratio * wire
    turns = solenoid(n * pitch / slender / 2, pitch, n, wire / 2)
    rho_over = (wire / 2 / 50) ** 2  # skin depth of a fiftieth of the wire's radius
    frequency = 1.7241e-8 / (pi * 4e-7 * pi * rho_over)
    found = winding_losses(turns, frequency)
    assert found.alternating / found.skin_only == pytest.approx(phi, rel=0.05)


def test_row_with_solved_ends_is_the_whole_solved_turn_by_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    turns = solenoid(0.06, 1e-3, 120, 0.4e-3)
    quick = winding_losses(turns, 1e6).alternating
    monkeypatch.setattr("coilwright.fields.resistance.FEW_TURNS", 200)
    assert quick == pytest.approx(winding_losses(turns, 1e6).alternating, rel=5e-3)


# diameter over skin depth, R over its value at direct current: exact Bessel solution at 30 digits (Lord Kelvin 1889)
SKIN = ((0.5, 1.00008137491052), (2, 1.02049238885562), (6, 1.76813165250974), (20, 5.25930185751080))


@pytest.mark.parametrize(("ratio", "factor"), SKIN)
def test_skin_effect(ratio: float, factor: float) -> None:
    assert float(skin_factor(ratio / 2, 1.0)) == pytest.approx(factor, rel=1e-9)


def test_skin_depth_of_copper() -> None:
    """66 um at 1 MHz: common handbook figure (F. E. Terman, Radio Engineers' Handbook, 1943, from memory)."""
    assert float(skin_depth(1e6)) == pytest.approx(66.1e-6, rel=2e-3)


def test_thick_tube_pushes_flux_out() -> None:
    """12 turns of 10 mm tube at 12.5 mm pitch lose about 6 % of their inductance (eddy-current finite elements by a
    general library: filaments 0.8 to 3.1 % high on thinner tube; the figure of this shape computed apart).
    """
    thick, thin = cone(0.09, 0.0125, 12, 0.005), cone(0.09, 0.0125, 12, 0.0005)
    lost = [winding_losses(t, 240e3).inductance_change / self_inductance(t, 0.0) for t in (thick, thin)]
    assert lost[0] == pytest.approx(-0.060, abs=0.003)
    assert -0.001 < lost[1] < 0


@pytest.mark.parametrize("centimetres", [0.1, 1.0, 10.0])
def test_inception_of_spheres_and_wires(centimetres: float) -> None:
    """F. W. Peek, Dielectric Phenomena in High-Voltage Engineering (3rd ed. 1929), spheres 27.2 (1 + 0.54/sqrt r) from
    memory, parallel wires 30 (1 + 0.301/sqrt r) seen: kV/cm, r in cm.
    """
    k = 100 / centimetres
    ball, wire = inception_field((k, k)).field, inception_field((k, 0.0)).field
    assert ball == pytest.approx(27.2e5 * (1 + 0.54 / sqrt(centimetres)), rel=0.10)
    assert wire == pytest.approx(30e5 * (1 + 0.301 / sqrt(centimetres)), rel=0.10)
    assert inception_field((k, k), density=0.8).field < ball


# wire diameter over pitch, capacitance of a gap over eps and length: independent boundary solution of a row of wires
# (computed apart); touching wires have none
GRATING = ((0.5, 0.494), (0.8, 2.17), (0.9, 4.22), (0.95, 7.15))


@pytest.mark.parametrize(("ratio", "share"), GRATING)
def test_capacitance_from_turn_to_turn(ratio: float, share: float) -> None:
    """Thin wires: a dipole in the field along the row, pi/2 (d/p)^2 (M. Faraday's sphere in two dimensions, exact)."""
    assert grating_share(ratio) == pytest.approx(share, rel=2e-3)
    assert grating_share(1e-3) == pytest.approx(pi / 2 * 1e-6, rel=1e-5)


def test_currents_that_fall_towards_the_top_burn_less() -> None:
    """Half the current everywhere burns a quarter; one that falls to nothing burns a third of the skin's share."""
    turns = solenoid(0.06, 1e-3, 200, 0.4e-3)
    whole = winding_losses(turns, 1e6)
    half = winding_losses(turns, 1e6, current=np.full(200, 0.5))
    assert half.alternating == pytest.approx(whole.alternating / 4, rel=1e-9)
    falling = winding_losses(turns, 1e6, current=np.linspace(1, 0, 200))
    assert falling.skin_only == pytest.approx(whole.skin_only / 3, rel=0.01)
    assert falling.alternating < whole.alternating / 2
