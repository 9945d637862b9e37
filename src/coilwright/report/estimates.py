"""Numbers that carry how they are known in a JSON document: the number stands in place, band and mark under its key
path. An `Estimate` has both, a `Known` its mark alone where no band is known.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coilwright.model.known import Estimate, Known


def split_estimates(document: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, list[float]], dict[str, str]]:
    """Return the document with every `Estimate` and `Known` replaced by its value, and the bands and marks by key path.

    Paths are as in ``supply``'s document: ``gap.spacing``, ``strings[0].loss_each``.
    """
    bands: dict[str, list[float]] = {}
    marks: dict[str, str] = {}

    def plain(value: Any, path: str) -> Any:
        if isinstance(value, Estimate):
            bands[path], marks[path] = [value.low, value.high], value.mark
            return value.value
        if isinstance(value, Known):
            marks[path] = value.mark
            if value.low is not None and value.high is not None:
                bands[path] = [value.low, value.high]
            return value.value
        if isinstance(value, Mapping):
            return {key: plain(item, f"{path}.{key}" if path else str(key)) for key, item in value.items()}
        if isinstance(value, (list, tuple)):
            return [plain(item, f"{path}[{k}]") for k, item in enumerate(value)]
        return value

    return plain(document, ""), bands, marks
