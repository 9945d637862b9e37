"""Newton's method on the iron ports, against a second route to each of its pieces: Fourier transforms, differences."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from samples import MAINS, PARTS, pair

from coilwright.supply import balance
from coilwright.supply.balance import Batch, default_samples, determinant_sign, solve
from coilwright.supply.build import build
from coilwright.supply.families import batch_of
from coilwright.supply.linear import assemble, reduce
from coilwright.supply.steady import linear_start, odd

ODD = odd(7)


def batch_at(*loads: float, highest: int = 7) -> Batch:
    network = build(pair(), PARTS, MAINS)
    return batch_of([partial(reduce, assemble(network.with_load(r)))(odd(highest)) for r in loads])


def by_transform(batch: Batch, flux: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return F over knee flux, and the port currents, of flux amplitudes (b, h, p), by a Fourier transform of i(t)."""
    n = 4096
    t = 2 * np.pi * np.arange(n) / n
    wave = (np.exp(1j * t[:, None] * batch.harmonics) @ flux).real / batch.knee_flux[:, None, :]
    current = batch.knee_current[:, None, :] * wave ** batch.exponent[:, None, :]
    amplitudes = np.fft.rfft(current, axis=1)[:, batch.harmonics, :] * 2 / n
    jw = 1j * batch.omega[:, None, None] * batch.harmonics[:, None]
    f = jw * flux - batch.open + np.einsum("bhpq,bhq->bhp", batch.impedance, amplitudes)
    return f / jw / batch.knee_flux[:, None, :], amplitudes


@pytest.mark.parametrize("highest", [1, 3, 7, 27])
def test_the_solution_satisfies_the_equations_as_a_fourier_transform_writes_them(highest):
    # numpy's transform of 4096 samples; with so few harmonics in the flux the 9th power has no alias in either.
    batch = batch_at(0.0, 8e3, 1e9, highest=highest)
    got = solve(batch, linear_start(batch))
    assert got.converged.all()
    f, current = by_transform(batch, got.flux)
    exact = default_samples(batch.harmonics) * 2 > 10 * highest
    assert np.abs(f).max() < (2e-10 if exact else 1e-5)
    assert np.abs(current - got.current).max() < 1e-5 * np.abs(current).max()


def test_instants_leave_no_alias_of_the_power_law():
    # A product of n + 1 waves of the highest harmonic has even harmonics up to (n + 1) times it; over half a period
    # N instants tell apart those below 2 N.
    for highest, n in ((1, 9), (1, 15), (3, 9), (3, 5)):
        assert 2 * default_samples(odd(highest), n) > (n + 1) * highest
    assert default_samples(odd(1), 9) < 32 <= default_samples(odd(61), 9)


@pytest.mark.parametrize("exponents", [(9, 9, 9, 9, 9, 9, 9), (5, 9, 7, 15, 9, 11, 13)])
def test_the_step_solves_the_equations_linearised_by_differences(exponents):
    plain = batch_at(2e3, 1e9)
    batch = Batch(
        plain.omega, plain.harmonics, plain.open, plain.impedance, plain.knee_flux, plain.knee_current,
        np.array([exponents] * 2),
    )  # fmt: skip
    problem = balance._Problem(batch, 64)  # enough for the 15th power of the 7th harmonic to leave no alias
    rng = np.random.default_rng(3)
    fade = 0.5 ** np.arange(4)[:, None]
    flux = (rng.normal(size=(2, 4, 7)) + 1j * rng.normal(size=(2, 4, 7))) * fade * 0.4 * batch.knee_flux[:, None, :]
    v = np.ascontiguousarray((flux / batch.knee_flux[:, None, :]).transpose(0, 2, 1))
    f, _, power, merit = problem.evaluate(v, v.view(float) @ problem.basis)
    assert merit == pytest.approx((np.abs(f) ** 2).sum(axis=(1, 2)), rel=1e-12)
    assert np.abs(f.transpose(0, 2, 1) - by_transform(batch, flux)[0]).max() < 1e-9 * np.abs(f).max()
    step = problem.step(f, power)
    h = 1e-6
    ahead, behind = v + h * step, v - h * step
    slope = (
        problem.evaluate(ahead, ahead.view(float) @ problem.basis)[0]
        - problem.evaluate(behind, behind.view(float) @ problem.basis)[0]
    ) / (2 * h)
    # What the unsaturated ports would add is below UNSATURATED of the step, in each of 7 ports.
    assert np.abs(slope + f).max() < 7 * balance.UNSATURATED * np.abs(step).max()
    assert np.abs(f).max() > 0.1


def test_leaving_the_unsaturated_ports_out_of_the_equations_changes_no_answer(monkeypatch):
    batch = batch_at(0.0, 8e3, 1e9)
    quick = solve(batch, linear_start(batch))
    sign = determinant_sign(batch, quick.flux)
    monkeypatch.setattr(balance, "UNSATURATED", -1.0)
    full = solve(batch, linear_start(batch))
    assert quick.converged.all() and full.converged.all()
    assert np.abs(quick.flux - full.flux).max() < 1e-9 * np.abs(full.flux).max()
    assert (sign == 1).all()


def test_problems_of_a_batch_do_not_touch_each_other():
    loads = (0.0, 50.0, 8e3, 1e9)
    together = batch_at(*loads)
    got = solve(together, linear_start(together))
    for k, load in enumerate(loads):
        alone = batch_at(load)
        one = solve(alone, linear_start(alone))
        assert np.abs(one.flux[0] - got.flux[k]).max() < 1e-9 * np.abs(one.flux).max()
        assert one.iterations <= got.iterations


def test_what_has_no_answer_within_the_steps_is_reported_as_not_converged():
    batch = batch_at(0.0, 1e9)
    got = solve(batch, 3.0 * linear_start(batch), max_iterations=1)
    assert not got.converged.any()
    assert (got.residual > 1e-10).all()


def test_a_singular_problem_spoils_no_other():
    # dF/dv = 1 + W n v^(n-1) of one port vanishes at v^2 = 1 for W n = -1 (a capacitor seen by the iron, n = 3, in
    # phase): the first step there has no solution; the other problem of the batch has one.
    w = -1 / 3 / 0.75  # the fundamental of sin^3 is 3/4 of it
    batch = Batch(
        np.array([1.0, 1.0]), odd(1), np.full((2, 1, 1), 0.5j), np.array([w * 1j, 0.1j]).reshape(2, 1, 1, 1),
        np.ones((2, 1)), np.ones((2, 1)), np.full((2, 1), 3),
    )  # fmt: skip
    got = solve(batch, np.ones((2, 1, 1), dtype=complex))
    assert got.converged[1]
    f, _ = by_transform(batch, got.flux)
    assert np.abs(f[1]).max() < 1e-9
    assert got.converged[0] == (np.abs(f[0]).max() < 1e-9)


def test_even_powers_of_unlike_exponents():
    wave = np.random.default_rng(1).normal(size=(2, 3, 5))
    half = np.array([[0, 1, 2], [7, 4, 3]])
    assert balance._even_power(wave, half.copy(), None) == pytest.approx(wave ** (2 * half[:, :, None]), rel=1e-13)
    assert balance._even_power(wave, half, 5) == pytest.approx(wave**10, rel=1e-13)
    assert (balance._even_power(wave, half, 0) == 1).all()
