"""Whether a figure of a report meets its target, in words: computed from both, so that the column cannot be typed."""

from __future__ import annotations

from collections.abc import Mapping

from benchmarks.identification import TARGETS
from benchmarks.planner import SCORE

#: Relative rms error of volts and currents against ngspice.
NETWORK = 1e-3
#: ngspice's CPU over ours.
SPEED = 500.0
#: Share of truths that the 95 % bands shall hold, and the share of clean sets that may raise an alarm.
COVERAGE = (0.90, 0.98)
ALARMS = 1 / 200


def word(ok: bool) -> str:
    """Return the word for a target: it is met or missed, also where there is no figure."""
    return "met" if ok else "missed"


def network(voltage_error: float, current_error: float) -> str:
    """Return the verdict on one case against ngspice."""
    return word(voltage_error <= NETWORK and current_error <= NETWORK)


def identification(quantity: str, rms_error: float, coverage: float, alarms: int, count: int) -> str:
    """Return the verdict on one quantity, with what is missed."""
    held = {
        "rms error": rms_error <= TARGETS[quantity],
        "band": COVERAGE[0] <= coverage <= COVERAGE[1],
        "false alarms": alarms <= ALARMS * count,
    }
    missed = [name for name, ok in held.items() if not ok]
    return f"missed: {', '.join(missed)}" if missed else "met"


def speed(ratios: Mapping[str, float]) -> str:
    """Return the verdict on each of several ratios of CPU."""
    return ", ".join(f"{name} {word(ratio >= SPEED)}" for name, ratio in ratios.items())


def plan(cpu: float, target: float) -> str:
    """Return the verdict on the CPU of a plan."""
    return word(cpu <= target)


def pruning(difference: float) -> str:
    """Return the verdict on a best score that is worse by ``difference`` than that of the unpruned search."""
    return word(difference <= SCORE)
