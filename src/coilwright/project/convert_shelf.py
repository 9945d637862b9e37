"""From the checked file to the Design: the shelf, with the mark of every value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from coilwright.model.known import Known
from coilwright.model.parts import (
    Accuracy,
    BondTest,
    Capacitor,
    Choke,
    ChokeTest,
    Former,
    Instrument,
    InsulationTest,
    LowVoltageTest,
    OpenTest,
    ProofTest,
    Read,
    Resistor,
    ShortTest,
    Stamp,
    TemperatureTest,
    Transformer,
    Variable,
    Wire,
)
from coilwright.project.fields import Stamped
from coilwright.project.schema import FileSpec
from coilwright.project.schema_base import Table
from coilwright.project.schema_shelf import (
    CapacitorSpec,
    ChokeSpec,
    InstrumentSpec,
    LowVoltageTestSpec,
    ReadingRow,
    TransformerSpec,
)
from coilwright.units import Quantity

T = TypeVar("T")


@dataclass(frozen=True)
class Knowing:
    """Turns what the file says into Known values; holds the instruments for the accuracy of what they read."""

    accuracies: Mapping[str, Mapping[str, Accuracy]]

    @classmethod
    def of(cls, spec: FileSpec) -> Knowing:
        """Return the one that knows the file's instruments."""
        return cls({i.id: _accuracies(i) for i in spec.instrument})

    def ink(self, quantity: Quantity) -> Known[float]:
        """Return a value that the builder wrote."""
        return _banded(quantity.value, quantity.tolerance, "ink", "in the file")

    def maybe_ink(self, quantity: Quantity | None) -> Known[float] | None:
        """Return a value that the builder wrote, or None."""
        return None if quantity is None else self.ink(quantity)

    def stamped(self, given: Stamped, kind: str = "") -> Known[float]:
        """Return a value with instrument and date as stamped, without either as ink.

        ``kind`` names the accuracy that applies where the file wrote no uncertainty beside the value.
        """
        quantity = given.quantity
        if given.instrument is None or given.date is None:
            return self.ink(quantity)
        tolerance = quantity.tolerance
        accuracy = self.accuracies.get(given.instrument, {}).get(kind)
        if tolerance is None and accuracy is not None:
            tolerance = accuracy.relative * abs(quantity.value) + accuracy.absolute
        return _banded(
            quantity.value, tolerance, "stamped", f"read with {given.instrument} on {given.date.isoformat()}"
        )

    def maybe_stamped(self, given: Stamped | None, kind: str = "") -> Known[float] | None:
        """Return a value as `stamped` does, or None."""
        return None if given is None else self.stamped(given, kind)

    def table(self, table: Table | None) -> dict[str, Known[float]] | None:
        """Return what a small table of quantities states, key by key; None where there is no such table."""
        if table is None:
            return None
        found: dict[str, Known[float]] = {}
        for key in type(table).model_fields:
            value = getattr(table, key)
            if isinstance(value, Stamped):
                found[key] = self.stamped(value)
            elif isinstance(value, Quantity):
                found[key] = self.ink(value)
        return found


@dataclass(frozen=True)
class Shelf:
    instruments: tuple[Instrument, ...]
    transformers: tuple[Transformer, ...]
    chokes: tuple[Choke, ...]
    capacitors: tuple[Capacitor, ...]
    resistors: tuple[Resistor, ...]
    variables: tuple[Variable, ...]
    wires: tuple[Wire, ...]
    formers: tuple[Former, ...]


def shelf_parts(spec: FileSpec, k: Knowing) -> Shelf:
    """Return every part of the shelf."""
    return Shelf(
        instruments=tuple(
            Instrument(
                i.id,
                dict(k.accuracies[i.id]),
                i.response,
                None if i.rating is None else i.rating[0].value,
                i.notes or "",
                f"instrument[{n}]",
            )
            for n, i in enumerate(spec.instrument)
        ),
        transformers=tuple(_transformer(t, f"transformer[{n}]", k) for n, t in enumerate(spec.transformer)),
        chokes=tuple(_choke(c, f"choke[{n}]", k) for n, c in enumerate(spec.choke)),
        capacitors=tuple(_capacitor(c, f"capacitor[{n}]", k) for n, c in enumerate(spec.capacitor)),
        resistors=tuple(
            Resistor(
                r.id,
                k.stamped(r.resistance, "resistance"),
                k.maybe_ink(r.power),
                k.maybe_ink(r.voltage),
                r.count,
                r.price,
                r.notes or "",
                f"resistor[{n}]",
            )
            for n, r in enumerate(spec.resistor)
        ),
        variables=tuple(
            Variable(
                v.id,
                k.maybe_stamped(v.voltage, "voltage"),
                k.maybe_ink(v.current),
                k.maybe_ink(v.setting),
                v.price,
                v.count,
                v.notes or "",
                f"variable[{n}]",
            )
            for n, v in enumerate(spec.variable)
        ),
        wires=tuple(
            Wire(
                w.id,
                k.ink(w.diameter),
                w.grade,
                k.maybe_stamped(w.length, "length"),
                k.maybe_stamped(w.mass, "mass"),
                w.price,
                w.notes or "",
                f"wire[{n}]",
            )
            for n, w in enumerate(spec.wire)
        ),
        formers=tuple(
            Former(
                f.id,
                k.stamped(f.outside_diameter, "length"),
                k.maybe_stamped(f.wall, "length"),
                k.maybe_ink(f.length),
                f.material,
                f.price,
                f.notes or "",
                f"former[{n}]",
            )
            for n, f in enumerate(spec.former)
        ),
    )


def _accuracies(instrument: InstrumentSpec) -> dict[str, Accuracy]:
    found = {}
    for key in type(instrument.accuracy).model_fields:
        value = getattr(instrument.accuracy, key)
        if value is not None:
            found[key] = Accuracy(*value)
    return found


def _banded(value: float, tolerance: float | None, mark: str, basis: str) -> Known[float]:
    low, high = (None, None) if tolerance is None else (value - tolerance, value + tolerance)
    return Known(value, "stamped" if mark == "stamped" else "ink", low, high, basis)


def _read(quantity: Quantity) -> Read:
    return Read(quantity.value, quantity.tolerance)


def _maybe_read(quantity: Quantity | None) -> Read | None:
    return None if quantity is None else _read(quantity)


def _stamp(row: ReadingRow) -> Stamp:
    return Stamp(row.instrument, row.date, row.by)


def _word(word: str | None) -> Known[str] | None:
    return None if word is None else Known(word, "ink", basis="in the file")


def _low_voltage(row: LowVoltageTestSpec, where: str) -> LowVoltageTest:
    if row.applied_high is not None and row.low is not None:
        return LowVoltageTest("high", _read(row.applied_high), _read(row.low), _stamp(row), where)
    if row.applied is None or row.secondary is None:
        raise ValueError(f"{where}: neither pair of a low-voltage test is complete")
    return LowVoltageTest("low", _read(row.applied), _read(row.secondary), _stamp(row), where)


def _transformer(t: TransformerSpec, where: str, k: Knowing) -> Transformer:
    halves = t.secondary_resistance_halves
    silent_protection = "unknown" if t.kind == "sign" else "none"
    return Transformer(
        id=t.id,
        kind=t.kind,
        plate_primary=k.maybe_ink(t.plate_primary),
        plate_secondary=k.maybe_ink(t.plate_secondary),
        plate_power=k.maybe_ink(t.plate_power),
        plate_current=k.maybe_ink(t.plate_current),
        plate_frequency=k.maybe_ink(t.plate_frequency),
        primary_resistance=k.maybe_stamped(t.primary_resistance, "resistance"),
        secondary_resistance=k.maybe_stamped(t.secondary_resistance, "resistance"),
        secondary_resistance_halves=None
        if halves is None
        else (k.stamped(halves[0], "resistance"), k.stamped(halves[1], "resistance")),
        core_end=_word(t.core_end),
        core_end_liftable=_word(t.core_end_liftable),
        inner_end=_word(t.inner_end),
        open_test=tuple(
            OpenTest(
                _read(r.applied),
                _read(r.current),
                _maybe_read(r.power),
                _maybe_read(r.secondary),
                _stamp(r),
                f"{where}.open_test[{n}]",
            )
            for n, r in enumerate(t.open_test)
        ),
        short_test=tuple(
            ShortTest(
                _read(r.applied),
                _read(r.current),
                _maybe_read(r.power),
                _maybe_read(r.secondary_current),
                _stamp(r),
                f"{where}.short_test[{n}]",
            )
            for n, r in enumerate(t.short_test)
        ),
        low_voltage_test=tuple(
            _low_voltage(r, f"{where}.low_voltage_test[{n}]") for n, r in enumerate(t.low_voltage_test)
        ),
        insulation=k.table(t.insulation),
        proof_test=tuple(
            ProofTest(
                r.between,
                r.applied.value,
                None if r.duration is None else r.duration.value,
                r.method,
                _stamp(r),
                f"{where}.proof_test[{n}]",
            )
            for n, r in enumerate(t.proof_test)
        ),
        insulation_test=tuple(
            InsulationTest(
                r.between, r.applied[0].value, _read(r.resistance), _stamp(r), f"{where}.insulation_test[{n}]"
            )
            for n, r in enumerate(t.insulation_test)
        ),
        bond_test=tuple(
            BondTest(r.current.value, _read(r.resistance), _stamp(r), f"{where}.bond_test[{n}]")
            for n, r in enumerate(t.bond_test)
        ),
        capacitance=k.table(t.capacitance),
        core=k.table(t.core),
        shunts=t.shunts,
        filling=t.filling,
        made=t.made,
        secondary_protection=t.secondary_protection or silent_protection,
        mass=k.maybe_stamped(t.mass, "mass"),
        surface=k.maybe_stamped(t.surface),
        price=t.price,
        count=t.count,
        notes=t.notes or "",
        where=where,
    )


def _choke(c: ChokeSpec, where: str, k: Knowing) -> Choke:
    return Choke(
        id=c.id,
        resistance=k.maybe_stamped(c.resistance, "resistance"),
        current=k.maybe_ink(c.current),
        test=tuple(
            ChokeTest(_read(r.voltage), _read(r.current), _maybe_read(r.power), _stamp(r), f"{where}.test[{n}]")
            for n, r in enumerate(c.test)
        ),
        gap_ratio=c.gap_ratio,
        lamp=c.lamp,
        settings=tuple(q.value for q in c.settings),
        mass=k.maybe_stamped(c.mass, "mass"),
        surface=k.maybe_stamped(c.surface),
        temperature_test=tuple(
            TemperatureTest(
                r.current.value, r.minutes.value, _read(r.rise), _stamp(r), f"{where}.temperature_test[{n}]"
            )
            for n, r in enumerate(c.temperature_test)
        ),
        core=k.table(c.core),
        price=c.price,
        count=c.count,
        notes=c.notes or "",
        where=where,
    )


def _capacitor(c: CapacitorSpec, where: str, k: Knowing) -> Capacitor:
    rated, kind = c.rated or (None, None)
    return Capacitor(
        id=c.id,
        value=k.stamped(c.value, "capacitance"),
        use=c.use,
        kind=c.kind,
        rated=k.maybe_ink(rated),
        rated_kind=kind,
        bleeder=k.maybe_stamped(c.bleeder, "resistance"),
        made=c.made,
        count=c.count,
        dielectric=c.dielectric,
        loss=None if c.loss is None else c.loss.value,
        dv_dt=k.maybe_ink(c.dv_dt),
        esr=k.maybe_stamped(c.esr, "resistance"),
        ripple_current=k.maybe_ink(c.ripple_current),
        tolerance=None if c.tolerance is None else c.tolerance.value,
        size=None if c.size is None else (k.ink(c.size[0]), k.ink(c.size[1]), k.ink(c.size[2])),
        lead_pitch=k.maybe_ink(c.lead_pitch),
        price=c.price,
        notes=c.notes or "",
        where=where,
    )
