"""Raising a tag: the catalogue's words with the numbers of this design."""

from __future__ import annotations

from coilwright.model.known import Mark
from coilwright.protection.catalogue import CATALOGUE
from coilwright.protection.tag import Tag

#: Added to the way out of a STOP that turns on an assumed value.
PENCIL_SENTENCE = (
    "It rests on an assumed (pencil) value: only a reading or a change clears it, a written answer does not."
)


def raise_tag(
    id: str,
    where: str = "",
    *,
    value: str | None = None,
    limit: str | None = None,
    number: float | None = None,
    bound: float | None = None,
    mark: Mark | None = None,
    do: str | None = None,
) -> Tag:
    """Return the tag of that rule for one place.

    ``limit`` and ``do`` replace the catalogue's words where the design says it in numbers; None keeps them. ``number``
    and ``bound`` are SI. A STOP whose ``mark`` is pencil says in its way out what clears it.

    Raises
    ------
    KeyError
        If the catalogue has no rule of that id.
    """
    rule = CATALOGUE[id]
    way_out = do or rule.do
    if mark == "pencil" and rule.grade == "STOP" and not rule.standing:
        way_out = f"{way_out} {PENCIL_SENTENCE}"
    return Tag(
        id=id,
        grade=rule.grade,
        standing=rule.standing,
        where=where,
        what=rule.what,
        why=rule.why,
        value=value,
        limit=rule.limit if limit is None else limit,
        do=way_out,
        source=rule.source,
        number=number,
        bound=bound,
        mark=mark,
    )
