"""What stands in the mains leads before the first joint: it is in no joint, so the drawing says it in words."""

from __future__ import annotations

from coilwright.model.design import Design
from coilwright.units import show


def front_note(design: Design) -> str:
    """Return a line for the foot of the wiring drawing: the devices from the socket to the first joint, in their order.

    What the project does not state is said to be so. Which devices are needed is for local code to say.
    """
    site, protection = design.site, design.protection
    breaker = site.breaker.value
    curve = f", curve {breaker.curve}" if breaker.curve else ", curve not stated"
    trips = site.rcd.value
    residual = f"residual-current device {show(trips, 'A')}" if trips else "residual-current device: none stated"
    fuse = f"fuse {protection.fuse}" if protection is not None and protection.fuse else "fuse: none stated"
    means = protection.disconnections if protection is not None else None
    stated = "not stated" if means is None else str(means)
    return (
        f"Not drawn, from the socket to the first joint: breaker {show(breaker.rated_current, 'A')}{curve}; "
        f"{residual}; plug or isolator in sight that opens every pole but never the protective earth; key switch and "
        f"stop button that cut the supply; {fuse}. Means of disconnection in series, stated: {stated} (at least 2). "
        "Local code prevails."
    )
