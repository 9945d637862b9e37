"""What the rules about the chain from mains to gap look at. None means "not known", never zero."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ChainFacts:
    """The chain of a set that has, or is going to have, a gap.

    ``fuse`` is as written, ``fuse_current`` its rated current [A]; ``mains_current`` the largest steady one with every
    correction capacitor failed open [A rms], ``breaker_current`` the breaker's rated one. ``interlock`` None: not
    stated. ``filter_time`` is resistance times capacitance of the filter [s].
    """

    gap: bool
    filter: bool = False
    interlock: bool | None = None
    fuse: str | None = None
    fuse_current: float | None = None
    mains_current: float | None = None
    breaker_current: float | None = None
    filter_time: float | None = None
