"""The base of every table of the project file."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table in which every key is known; an unknown one is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
