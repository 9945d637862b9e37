"""Change a project's text in place: what is not changed keeps every byte, comments included.

Each change replaces the span of one value, or adds or removes lines; the result is parsed again and must say exactly
what was asked for, and nothing else.
"""

from __future__ import annotations

import copy
import datetime as dt
import re
import tomllib
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from coilwright.errors import InternalError
from coilwright.model.design import Arrangement
from coilwright.project.locate import Path, Place, path_steps, path_text, places


def toml_value(value: object) -> str:
    """Return a value as TOML, on one line.

    Raises
    ------
    TypeError
        If TOML has no such value.

    Examples
    --------
    >>> toml_value({"voltage": "12 V", "between": ["hot_a", "ground"]})
    '{ voltage = "12 V", between = ["hot_a", "ground"] }'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, (dt.date, dt.datetime)):
        return value.isoformat()
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(str(k))} = {toml_value(v)}" for k, v in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, Sequence):
        return f"[{', '.join(toml_value(v) for v in value)}]"
    raise TypeError(f"TOML has no {type(value).__name__}")


def _text(value: str) -> str:
    escapes = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f"}
    return (
        '"'
        + "".join(escapes.get(c) or (f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 else c) for c in value)
        + '"'
    )


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _text(key)


def edit(text: str, changes: Mapping[str, object]) -> str:
    """Return the text with values set, added or (None) removed, each named by its key path.

    ``"site.mains_resistance": "0.3 ohm"`` sets a value; ``"transformer[0].open_test[3]": {...}`` one past the end
    appends; ``"choke[4]": {...}`` appends a section; ``"protection.fuse": None`` removes. Sections that are missing
    are added at the end.

    Raises
    ------
    KeyError
        If a path leads through something that is not there.
    """
    for path, value in changes.items():
        steps = path_steps(path)
        wanted = _changed(tomllib.loads(text), steps, value)
        text = _one(text, steps, value)
        if tomllib.loads(text) != wanted:
            raise InternalError(f"editing {path} changed more than it should have")
    return text


def _changed(data: dict[str, Any], steps: Path, value: object) -> dict[str, Any]:
    """Return the data as it should be after one change."""
    changed = copy.deepcopy(data)
    holder: Any = changed
    for step, following in pairwise(steps):
        if isinstance(holder, dict) and step not in holder and value is not None:
            holder[step] = [] if isinstance(following, int) else {}
        try:
            holder = holder[step]
        except (KeyError, IndexError, TypeError):
            raise KeyError(f"{path_text(steps)}: there is no {step}") from None
    last = steps[-1]
    if value is None:
        try:
            del holder[last]
        except (KeyError, IndexError, TypeError):
            raise KeyError(f"{path_text(steps)}: there is nothing to remove") from None
    elif isinstance(holder, list) and isinstance(last, int) and last == len(holder):
        holder.append(_plain(value))
    else:
        try:
            holder[last] = _plain(value)
        except (IndexError, TypeError):
            raise KeyError(f"{path_text(steps)}: there is no place for it") from None
    return changed


def _plain(value: object) -> Any:
    """Return a value as the parser will give it back."""
    if isinstance(value, Mapping):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(v) for v in value]
    return value


def _one(text: str, steps: Path, value: object) -> str:
    found = places(text)
    here = [p for p in found if p.path == steps]
    if value is None:
        return _remove(text, found, steps)
    if here and here[0].kind in {"value", "item"}:
        return _spliced(text, here[0].value, toml_value(value))
    if here or any(p.path[: len(steps)] == steps for p in found):
        raise KeyError(f"{path_text(steps)} is a whole section: set its keys one by one")
    return _add(text, found, steps, value)


def _spliced(text: str, span: tuple[int, int], new: str) -> str:
    return text[: span[0]] + new + text[span[1] :]


def _add(text: str, found: tuple[Place, ...], steps: Path, value: object) -> str:
    parent, last = steps[:-1], steps[-1]
    holder = next((p for p in found if p.path == parent), None)
    newline = "\r\n" if "\r\n" in text else "\n"
    if isinstance(last, int):
        if holder is not None and holder.kind in {"value", "item"}:
            return _into_brackets(text, found, holder, toml_value(value), "]")
        body = _section_body(f"[[{'.'.join(_key(str(s)) for s in parent)}]]", value, newline)
        blocks = [p for p in found if p.path[: len(parent)] == parent]
        return _insert_block(text, found, blocks[-1] if blocks else None, body, newline)
    if holder is not None and holder.kind in {"value", "item"}:
        return _into_brackets(text, found, holder, f"{_key(last)} = {toml_value(value)}", "}")
    if len(steps) == 1 and isinstance(value, Mapping):
        return _insert_block(text, found, None, _section_body(f"[{_key(last)}]", value, newline), newline)
    line = f"{_key(last)} = {toml_value(value)}{newline}"
    keys = [p for p in found if p.statement and p.path[:-1] == parent]
    if keys:
        return _insert_line(text, keys[-1].value[1], line, newline)
    if holder is not None:
        return _insert_line(text, holder.key[1], line, newline)
    if not parent:
        return line + text
    if any(isinstance(s, int) for s in parent[1:]) or len(parent) > 2:
        raise KeyError(f"{path_text(steps)}: there is no {path_text(parent)} yet; add it as a whole")
    # the table is not there: a header of its own, after what belongs to the same section
    names = [str(s) for s in parent if isinstance(s, str)]
    body = _section_body(f"[{'.'.join(_key(n) for n in names)}]", {last: value}, newline)
    related = [p for p in found if p.path[:1] == parent[:1]]
    return _insert_block(text, found, related[-1] if related else None, body, newline)


def _section_body(header: str, value: object, newline: str) -> str:
    if not isinstance(value, Mapping):
        raise KeyError(f"{header} holds keys, not one value")
    return newline.join([header, *(f"{_key(str(k))} = {toml_value(v)}" for k, v in value.items())]) + newline


def _insert_line(text: str, after: int, line: str, newline: str) -> str:
    end = text.find("\n", after)
    return text + newline + line if end < 0 else text[: end + 1] + line + text[end + 1 :]


def _insert_block(text: str, found: tuple[Place, ...], last: Place | None, body: str, newline: str) -> str:
    """Insert a section after the one in which ``last`` stands, or at the end."""
    if last is None:
        gap = "" if not text else newline if text.endswith("\n") else 2 * newline
        return text + gap + body
    end = text.find("\n", max(last.value[1], last.key[1]))
    inner = [p for p in found if p.path[: len(last.path)] == last.path]
    end = text.find("\n", max(p.value[1] for p in inner)) if inner else end
    if end < 0:
        return text + 2 * newline + body
    rest = text[end + 1 :]
    return text[: end + 1] + newline + body + ("" if not rest or rest.startswith(("\n", "\r\n")) else newline) + rest


def _into_brackets(text: str, found: tuple[Place, ...], holder: Place, item: str, closing: str) -> str:
    """Append an item to a list, or a key to an inline table."""
    end = holder.value[1] - 1
    if text[end] != closing:
        raise KeyError(f"{path_text(holder.path)} is no {'list' if closing == ']' else 'table'}")
    inner = [p for p in found if len(p.path) == len(holder.path) + 1 and p.path[:-1] == holder.path]
    if not inner:
        return text[: holder.value[0] + 1] + (f" {item} " if closing == "}" else item) + text[end:]
    last = inner[-1].value[1]
    comma = "" if re.match(r"(?:\s|#[^\n]*\n)*,", text[last:end]) else ","
    first_line = text.rfind("\n", 0, inner[-1].value[0])
    own_line = closing == "]" and first_line > holder.value[0]
    indent = re.match(r"[ \t]*", text[first_line + 1 :])
    lead = f"\n{indent[0] if indent else ''}" if own_line else " "
    if not comma:  # a comma stands there already; the new item goes behind it
        last += text[last:end].index(",") + 1
        return text[:last] + lead + item + text[last:]
    return text[:last] + comma + lead + item + text[last:]


def _remove(text: str, found: tuple[Place, ...], steps: Path) -> str:
    inside = [p for p in found if p.path[: len(steps)] == steps]
    if not inside:
        raise KeyError(f"{path_text(steps)}: there is nothing to remove")
    first = inside[0]
    if first.kind in {"value", "item"} and not first.statement:
        return _remove_item(text, found, first)
    if first.statement:
        return _cut_lines(text, first.key[0], first.value[1])
    for place in reversed([p for p in inside if p.statement or p.kind in {"table", "element"}]):
        text = _cut_lines(text, place.key[0], max(place.key[1], place.value[1]))
    return text


def _cut_lines(text: str, start: int, end: int) -> str:
    start = text.rfind("\n", 0, start) + 1
    stop = text.find("\n", end)
    return text[:start] + ("" if stop < 0 else text[stop + 1 :])


def _remove_item(text: str, found: tuple[Place, ...], item: Place) -> str:
    siblings = [p for p in found if len(p.path) == len(item.path) and p.path[:-1] == item.path[:-1]]
    index = siblings.index(item)
    if index + 1 < len(siblings):
        return text[: item.key[0]] + text[siblings[index + 1].key[0] :]
    if index > 0:
        return text[: siblings[index - 1].value[1]] + text[item.value[1] :]
    tail = re.match(r"\s*,", text[item.value[1] :])
    return text[: item.key[0]] + text[item.value[1] + (tail.end() if tail else 0) :]


# ---- arrangements ----------------------------------------------------------------------------------------------------


def with_arrangement(text: str, arrangement: Arrangement, *, use: bool = True) -> str:
    """Return the text with an [[arrangement]] added, or put in the place of the one of that name.

    ``use`` sets [supply].use to it. A high winding whose two ends share a joint is written as ``shorted``, so that the
    file loads.
    """
    data = tomllib.loads(text)
    listed = data.get("arrangement", [])
    index = next((i for i, a in enumerate(listed) if a.get("name") == arrangement.name), None)
    block = _arrangement_block(arrangement, "\r\n" if "\r\n" in text else "\n")
    entry = tomllib.loads(block)["arrangement"][0]
    found = places(text)
    inline = any(p.path == ("arrangement",) and p.kind == "value" for p in found)
    if inline:
        text = edit(text, {f"arrangement[{len(listed) if index is None else index}]": entry})
    elif index is None:
        blocks = [p for p in found if p.path[:1] == ("arrangement",)]
        newline = "\r\n" if "\r\n" in text else "\n"
        anchor = blocks[-1] if blocks else None
        first_after = next((p for p in found if p.path == ("supply",)), None)
        if anchor is None and first_after is not None:
            start = text.rfind("\n", 0, first_after.key[0]) + 1
            text = text[:start] + block + newline + text[start:]
        else:
            text = _insert_block(text, found, anchor, block, newline)
    else:
        text = _replace_element(text, found, ("arrangement", index), block)
    wanted = copy.deepcopy(data)
    wanted["arrangement"] = [
        *listed[: index if index is not None else len(listed)],
        entry,
        *(listed[index + 1 :] if index is not None else []),
    ]
    if tomllib.loads(text) != wanted:
        raise InternalError(f"writing the arrangement {arrangement.name} changed more than it should have")
    return edit(text, {"supply.use": arrangement.name}) if use else text


def _arrangement_block(a: Arrangement, newline: str) -> str:
    shorted = tuple(dict.fromkeys((*a.shorted, *_shorted(a))))
    lines = ["[[arrangement]]", f"name = {_text(a.name)}", f"output = {toml_value(a.output)}"]
    lines += [
        f"{key} = {toml_value(value)}"
        for key, value in (("reversed", a.reversed), ("lifted", a.lifted), ("shorted", shorted))
        if value
    ]
    lines.append("[arrangement.joint]")
    width = max((len(_key(j)) for j in a.joints), default=0)
    lines += [f"{_key(name):<{width}} = {toml_value(list(ends))}" for name, ends in a.joints.items()]
    return newline.join(lines) + newline


def _shorted(a: Arrangement) -> list[str]:
    found = []
    for ends in a.joints.values():
        starts = {e.removesuffix(".high_start") for e in ends if e.endswith(".high_start")}
        finishes = {e.removesuffix(".high_finish") for e in ends if e.endswith(".high_finish")}
        found += [f"{unit}.high" for unit in sorted(starts & finishes)]
    return found


def _replace_element(text: str, found: tuple[Place, ...], steps: Path, block: str) -> str:
    """Put a block in the place of one element of a repeated section; comments between it and the next one stay."""
    inside = [p for p in found if p.path[: len(steps)] == steps]
    start = text.rfind("\n", 0, inside[0].key[0]) + 1
    last = max(max(p.key[1], p.value[1]) for p in inside)
    stop = text.find("\n", last)
    return text[:start] + block + ("" if stop < 0 else text[stop + 1 :])
