"""What the rules about the chain from mains to gap look at, from the project and its solved supply."""

from __future__ import annotations

from coilwright.analyses.results import SupplyResult
from coilwright.model.design import Design
from coilwright.protection.facts_chain import ChainFacts
from coilwright.protection.fuses import Fuse, read_fuse


def fitted_fuse(design: Design) -> Fuse | None:
    """Return the fuse that the project states, None where it states none or one that cannot be read."""
    text = design.protection.fuse if design.protection else None
    try:
        return read_fuse(text) if text else None
    except ValueError:
        return None


def chain_facts(design: Design, made: SupplyResult) -> ChainFacts:
    """Return the chain as built or planned. A tank or a gap in the project means that there is going to be a gap."""
    p, fuse = design.protection, fitted_fuse(design)
    return ChainFacts(
        gap=design.gap is not None or design.tank is not None,
        filter=bool(p and p.filter),
        filter_time=p.filter.resistance.value * p.filter.capacitance.value if p and p.filter else None,
        interlock=p.interlock if p else None,
        fuse=p.fuse if p else None,
        fuse_current=fuse.rated_current if fuse else None,
        mains_current=made.mains_current_uncorrected,
        breaker_current=design.site.breaker.value.rated_current,
    )


__all__ = ["chain_facts", "fitted_fuse"]
