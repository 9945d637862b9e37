"""`tank`: everything between supply and coil, one step after the other.

Flow: supply side -> rated places -> gap (cold breakdown) -> size (volts at firing, a rotor's too) -> strings, plates
-> rotor, electrodes, room -> protection -> tags. Each step takes what went before and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable

from coilwright.analyses.results import ShelfResult, SupplyResult
from coilwright.analyses.shelf import shelf as identify
from coilwright.analyses.supply import supply as solve
from coilwright.analyses.tank_context import supply_side
from coilwright.analyses.tank_gap import gap_result
from coilwright.analyses.tank_plates import plate_places, plates_result
from coilwright.analyses.tank_protection import filter_places, protection_result
from coilwright.analyses.tank_results import TankResult
from coilwright.analyses.tank_rotary import rotary_result
from coilwright.analyses.tank_running import with_rotor_verdict
from coilwright.analyses.tank_size import size_result
from coilwright.analyses.tank_strings import string_places, strings_result
from coilwright.analyses.tank_tags import tank_stage_tags
from coilwright.analyses.tank_wear import electrode_result, room_result
from coilwright.errors import InputError, Problem
from coilwright.model.design import Arrangement, Design

Progress = Callable[[float, str], None]

#: Said beside the numbers, in every medium.
MODEL_LIMITS = (
    (
        "Volts with the gap missing come from the supply's own scan; break rate, power and a rotor's volts at firing "
        "from a linear supply that charges the tank between firings."
    ),
    "The ring of tank and primary is an assumption until the coil is computed or its ring is read.",
)


def tank(
    design: Design,
    *,
    arrangement: Arrangement | None = None,
    shelf: ShelfResult | None = None,
    supply: SupplyResult | None = None,
    progress: Progress | None = None,
) -> TankResult:
    """Return tank capacitor, gap and protection for one supply.

    Parameters
    ----------
    design
        The project; ``arrangement`` defaults to the one that its [supply] uses.
    shelf, supply
        Results that are at hand already; ``supply`` must have been solved with its scan of the missing gap.
    progress
        Called with a fraction 0..1 and what is being done.

    Raises
    ------
    InputError
        If there is no arrangement, or it uses a part that has no circuit.
    SolverError
        If the supply has no converged answer; no number is shown then.
    """
    say = progress or (lambda _fraction, _word: None)
    known = shelf or identify(design)
    made = supply or solve(design, arrangement=arrangement, shelf=known, progress=lambda f, word: say(0.8 * f, word))
    chosen = arrangement or design.chosen()
    if chosen is None:
        raise InputError(
            [Problem("arrangement", None, "the project holds no arrangement", "`coilwright plan` finds one")]
        )
    say(0.82, "gap")
    side = supply_side(design, chosen, made, known)
    places = (*side.windings, *string_places(design), *plate_places(design), *filter_places(design))
    gap = gap_result(design, side, places)
    firing = gap.breakdown_peak if gap is not None else None
    say(0.86, "size of the tank")
    size = size_result(design, side, places, firing)
    gap = with_rotor_verdict(gap, size, side, places)
    say(0.92, "strings and plates")
    strings = strings_result(design, side, size, firing)
    plates = plates_result(design, side, size, firing)
    say(0.96, "protection")
    rotary = rotary_result(design, side, gap)
    electrodes = electrode_result(design, side, size, gap)
    room = room_result(design, size)
    protection = protection_result(
        design,
        side,
        size,
        gap,
        places,
        unit_bleeder=strings.own.bleeder if strings.own else None,
        made=made,
        shelf=known,
    )
    result = TankResult(
        name=chosen.name,
        supply=side,
        size=size,
        strings=strings,
        plates=plates,
        gap=gap,
        rotary=rotary,
        electrodes=electrodes,
        room=room,
        protection=protection,
        notes=MODEL_LIMITS,
    )
    say(1.0, "done")
    return tank_stage_tags(design, made, result)


__all__ = ["MODEL_LIMITS", "tank"]
