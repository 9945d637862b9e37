"""What a separating transformer in front of the set carries against its plate: a note, as no rule of ours judges it."""

from __future__ import annotations

from collections.abc import Iterator

from coilwright.analyses.topology import Wired
from coilwright.model.parts import Transformer
from coilwright.supply.characterise import Characteristics
from coilwright.supply.steady import rms

LOADS = {"open": "output open", "best": "best power", "short": "output shorted"}


def separating_notes(w: Wired, result: Characteristics) -> tuple[str, ...]:
    """Return a line for each transformer that stands before the others."""
    return tuple(_notes(w, result))


def _notes(w: Wired, result: Characteristics) -> Iterator[str]:
    for name in sorted(w.front_units):
        part = w.part(name)
        if not isinstance(part, Transformer):
            continue
        ends = w.primary_ends(name)
        drawn = {
            load: rms(s.voltage(*ends)) * rms(s.current(f"{name}.primary"))
            for load, s in result.states.items()
            if load in LOADS
        }
        load, most = max(drawn.items(), key=lambda d: d[1])
        plate = part.plate_power
        if plate is None:
            against = "its plate power is not in the file"
        elif most > plate.value:
            against = f"{most / plate.value:.2g} times the {_volt_amperes(plate.value)} of its plate"
        else:
            against = f"its plate says {_volt_amperes(plate.value)}"
        yield (
            f"{name}, a separating transformer, carries up to {_volt_amperes(most)} ({LOADS[load]}); {against}. "
            "No rule here judges that: its maker's duty does."
        )


def _volt_amperes(value: float) -> str:
    return f"{value / 1e3:.3g} kVA" if value >= 1e3 else f"{value:.3g} VA"


__all__ = ["separating_notes"]
