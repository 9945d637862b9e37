"""What every test shares: programs that some tests need, and one hypothesis profile for slow machines."""

from __future__ import annotations

import os
import shutil

import pytest
from hypothesis import HealthCheck, settings

# Wall-clock limits fail on a busy machine and say nothing about the code; pytest-timeout still ends a test that hangs.
# In continuous integration the examples are the same on every run, so that a red run can be repeated.
settings.register_profile(
    "coilwright", deadline=None, derandomize=bool(os.environ.get("CI")), suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("coilwright")

TOOLS_REQUIRED = os.environ.get("COILWRIGHT_REQUIRE_TOOLS") == "1"


def _missing_tools(item: pytest.Item) -> list[str]:
    return [name for mark in item.iter_markers("tool") for name in mark.args if shutil.which(name) is None]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out, and count, the tests whose program is absent, unless the run requires every tool."""
    if TOOLS_REQUIRED:
        return
    left_out = [item for item in items if _missing_tools(item)]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Fail a test whose program is absent: with tools required, nothing is left out."""
    missing = _missing_tools(item)
    if missing:
        pytest.fail(f"this test needs {', '.join(missing)} on the path", pytrace=False)
