"""What the rules look at: plain SI numbers, ids and marks, filled by the analyses. None means "not known", never zero.

Insulation limits are what *counts*: a kind's assumption (pencil), or what a proof test has stamped. A number written
by hand never raises the assumption, for it clears no STOP.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilwright.discharge.air import STANDARD_AIR, Air
from coilwright.model.known import Mark
from coilwright.model.site import Breaker

# ---- site and machine ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SiteFacts:
    """Where the machine will run, and what kind of machine it is going to be.

    ``high_voltage``: a high-voltage winding is on the shelf. ``coil``: a resonant coil is described or wanted.
    ``gap``: an open spark gap is described or wanted. ``gap_power`` [W] is what reaches the gap. ``top_peak`` [V] is
    the top load's peak, None where it has not been computed. ``supply_peak`` [V] is the highest peak of the supply to
    earth. ``streamer_length`` [m] is the estimate or the aim, with its basis in words. ``disconnections`` counts the
    means in series by which all poles are cut. ``secondary``: a resonant coil is described; ``rod`` is own | house |
    none, what its base is grounded to, None where the file does not say.
    """

    high_voltage: bool
    coil: bool = False
    gap: bool = False
    gap_power: float | None = None
    supply_peak: float | None = None
    top_peak: float | None = None
    streamer_length: float | None = None
    streamer_basis: str = ""
    wall_distance: float | None = None
    ceiling: float | None = None
    outdoors: bool = False
    system: str = "line and neutral"
    system_mark: Mark = "ink"
    earthing: str = "TN"
    earthing_mark: Mark = "ink"
    plug: str = "as marked"
    plug_mark: Mark = "ink"
    rcd: float | None = None
    disconnections: int | None = None
    secondary: bool = False
    rod: str | None = None


# ---- shelf -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PartFacts:
    """One part on the shelf.

    ``section`` is transformer | choke | capacitor | resistor | variable; ``kind``, ``filling``, ``shunts``, ``made``,
    ``mass`` [kg], ``lamp`` and ``dielectric`` as in the file. ``flux_ratio`` is V/f straight on this mains over V/f of
    the plate. ``capacitance`` [F] and ``rated_peak`` [V peak] are a capacitor's.
    """

    id: str
    section: Literal["transformer", "choke", "capacitor", "resistor", "variable"]
    kind: str = ""
    filling: str = ""
    shunts: str = "as built"
    made: int | None = None
    mass: float | None = None
    lamp: str | None = None
    dielectric: str | None = None
    flux_ratio: float | None = None
    capacitance: float | None = None
    rated_peak: float | None = None
    secondary_protection: str = "none"


@dataclass(frozen=True)
class ReadingFacts:
    """One bench reading, entered or asked for (``asked``).

    ``what`` is open | short | low voltage | resistance | insulation | proof | capacitance | polarity | other.
    ``volts`` is the highest that the named instrument sees and ``rating`` what it may see. ``reachable`` [V rms] is
    the highest between any two points within reach in a low-voltage or polarity test. ``open_volts`` [V rms] is what
    the high winding shows if a short falls off. ``test_volts`` [V] is the test voltage of an insulation or proof test,
    ``insulation`` [ohm] what an insulation test read.
    ``refused``: the check of the file would not take it from that instrument, whose rating may not be known.
    """

    where: str
    what: Literal[
        "open",
        "short",
        "low voltage",
        "resistance",
        "insulation",
        "proof",
        "capacitance",
        "polarity",
        "other",
    ]
    part: str = ""
    asked: bool = False
    refused: bool = False
    instrument: str | None = None
    volts: float | None = None
    rating: float | None = None
    reachable: float | None = None
    drive: float | None = None
    open_volts: float | None = None
    test_volts: float | None = None
    insulation: float | None = None


@dataclass(frozen=True)
class RefusedReading:
    """A reading that cannot be true and leaves its part unusable: its key path, what is wrong, the likely way out."""

    where: str
    message: str
    hint: str = ""


@dataclass(frozen=True)
class ShelfFacts:
    """``not_modelled`` names parts whose kind of supply lies outside the models; ``unconverged`` names fits without an
    answer; ``to_wind`` names what is going to be wound, varnished or glued.
    """

    parts: tuple[PartFacts, ...] = ()
    readings: tuple[ReadingFacts, ...] = ()
    refused: tuple[RefusedReading, ...] = ()
    not_modelled: tuple[str, ...] = ()
    unconverged: tuple[str, ...] = ()
    to_wind: tuple[str, ...] = ()


# ---- supply ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Shock:
    """A body between one place and earth, or hand to hand (``across``), the worst of output open, best power and short.

    Current [A rms] through 575 and through 1000 ohm, what an RCD would see [A], the volts that stand there before
    anybody touches it [V rms], and the ``load`` at which the currents are the largest.
    """

    where: str
    current_575: float
    current_1000: float
    residual: float | None = None
    voltage: float | None = None
    load: str = ""
    across: bool = False

    @property
    def current(self) -> float:
        """Return the larger of the two currents [A rms]."""
        return max(self.current_575, self.current_1000)


@dataclass(frozen=True)
class CoreFacts:
    """One core. ``tied``: a high-voltage end is joined to it. ``earthed``: the arrangement joins it to the mains
    earth.

    ``bond_*`` is the bond test that counts (ohm, A, mark), None where there is none. ``primary_to_core`` [V rms] is the
    largest over all operating points, with its limit. ``loose_voltage`` and ``loose_current`` [V, A rms through 1
    kohm] are what the core would show off earth, each with the load at which it is the largest.
    """

    id: str
    tied: bool
    earthed: bool
    bond_resistance: float | None = None
    bond_current: float | None = None
    bond_mark: Mark = "pencil"
    primary_to_core: float | None = None
    primary_limit: float | None = None
    primary_mark: Mark = "pencil"
    high_to_primary: float | None = None
    high_to_primary_limit: float | None = None
    high_to_primary_mark: Mark = "pencil"
    loose_voltage: float | None = None
    loose_current: float | None = None
    loose_voltage_load: str = ""
    loose_current_load: str = ""


@dataclass(frozen=True)
class WindingEnd:
    """One end of a high winding against its own core, the largest over all operating points [V rms and V peak].

    ``joined`` ends (tied and not lifted) are at core potential and are not judged. ``inner`` ends lie next to the
    core.
    """

    where: str  # "T1.high start"
    to_core: float
    to_core_peak: float
    limit: float  # V rms
    mark: Mark
    inner: bool = False
    joined: bool = False


@dataclass(frozen=True)
class PartCurrent:
    """Mains-side current of one transformer with the output short-circuited, against its rating [A rms].

    The mark is pencil where the plate states no power and the usual one of the kind stands in.
    """

    id: str
    short_current: float
    rated_current: float
    mark: Mark = "ink"


@dataclass(frozen=True)
class ParallelGroup:
    """Windings in parallel. ``proved``: their polarity is stamped. ``circulating`` [A rms] against the least rated
    current.
    """

    where: str
    alike: bool
    proved: bool
    circulating: float
    rated_current: float


@dataclass(frozen=True)
class VariableFacts:
    """A variable autotransformer in the arrangement, its brush current and rating [A rms]."""

    id: str
    current: float | None = None
    rated_current: float | None = None


@dataclass(frozen=True)
class FluxFacts:
    """Highest V/f on the primary of one part over V/f of its plate."""

    id: str
    ratio: float
    mark: Mark = "ink"


@dataclass(frozen=True)
class CorrectionCapacitor:
    """A capacitor on the mains. ``rated`` [V rms AC], None where unknown; ``at_plug_pins``: the set has a plug
    whose pins can be touched when it is pulled.
    """

    id: str
    capacitance: float
    voltage: float  # V rms across it
    rated: float | None = None
    rated_kind: str | None = None  # AC | DC
    kind: str | None = None
    made: int | None = None
    bleeder: float | None = None
    behind_ballast: bool = False
    at_plug_pins: bool = False


@dataclass(frozen=True)
class WiredCapacitor:
    """A capacitor that stands anywhere but on the mains side: ``voltage`` [V rms] and ``peak`` [V] are the highest
    across it. ``high``: on a high winding, where what it stores counts.
    """

    id: str
    capacitance: float
    voltage: float
    peak: float
    rated: float | None = None
    rated_kind: str | None = None
    kind: str | None = None
    made: int | None = None
    bleeder: float | None = None
    high: bool = True


@dataclass(frozen=True)
class OpenedShort:
    """A high winding shorted to serve as a choke, and what it shows [V rms] when the short opens under power."""

    where: str
    voltage: float
    load: str = ""


@dataclass(frozen=True)
class HeatFacts:
    """Hottest temperature [K] of a part when the ordered time on has passed, against the limit of its class [K]."""

    id: str
    temperature: float
    limit: float = 378.15  # class A, 105 degC
    on_time: float | None = None  # s until the limit
    duty: float | None = None
    mark: Mark = "pencil"


@dataclass(frozen=True)
class ResistorFacts:
    """A resistor in the supply: what it burns and what stands across it, the largest over all operating points [W, V
    rms], against its ratings; None where that is not known.
    """

    id: str
    power: float | None = None
    rated_power: float | None = None
    voltage: float | None = None
    rated_voltage: float | None = None


@dataclass(frozen=True)
class SpacingFacts:
    """A spacing that is built or given [m], and the peak volts across it."""

    where: str
    spacing: float
    peak: float
    air_density_ratio: float = 1.0


@dataclass(frozen=True)
class SupplyFacts:
    """One arrangement with its numbers. Currents in A rms, the largest over open, best power and short unless named
    otherwise.

    ``mains_uncorrected`` has every correction capacitor failed open, ``mains_corrected`` as wired. ``ballast``: a part
    in series with the units limits their short-circuit current, as solved. ``touched_shunts`` are units with no ballast
    whose own shunts are no longer as built. ``ends`` are the
    output ends with their volts to earth [V rms]. ``pair``: windings in series or about a midpoint whose senses
    matter. ``states`` are the open volts [V rms] of every steady state found. ``series_resistors`` are lamps and
    heaters in series with the primaries. ``pe_lost_*``: all bonded metal with the protective conductor broken and one
    end arcing to earth.
    """

    name: str
    breaker: Breaker
    mains_voltage: float
    high_voltage: bool = True
    short_current: float | None = None
    mains_short: float | None = None
    mains_uncorrected: float | None = None
    mains_corrected: float | None = None
    mains_mark: Mark = "ink"
    ballast: bool = False
    touched_shunts: tuple[str, ...] = ()
    part_currents: tuple[PartCurrent, ...] = ()
    mains_in_series: bool = False
    mains_gain: float | None = None  # share of the open volts
    cores: tuple[CoreFacts, ...] = ()
    windings: tuple[WindingEnd, ...] = ()
    tapped_in_series: tuple[str, ...] = ()
    pair: bool = False
    polarity_mark: Mark = "pencil"
    polarity_words: str = ""  # what the sheet showed
    ends: tuple[tuple[str, float], ...] = ()
    parallel: tuple[ParallelGroup, ...] = ()
    shocks: tuple[Shock, ...] = ()
    residual: float | None = None
    rcd: float | None = None
    plug_in: bool = False
    second_protective_conductor: bool = False
    pe_lost_voltage: float | None = None
    pe_lost_current: float | None = None
    separating: tuple[str, ...] = ()
    lamp_autotransformers: tuple[str, ...] = ()
    variables: tuple[VariableFacts, ...] = ()
    series_resistors: tuple[str, ...] = ()
    flux: tuple[FluxFacts, ...] = ()
    correction: tuple[CorrectionCapacitor, ...] = ()
    capacitors: tuple[WiredCapacitor, ...] = ()
    opened_shorts: tuple[OpenedShort, ...] = ()
    idle_power_factor: float | None = None
    idle_leading: bool = False
    inrush_peak: float | None = None
    closing_peak: float | None = None
    states: tuple[float, ...] = ()
    heat: tuple[HeatFacts, ...] = ()
    resistors: tuple[ResistorFacts, ...] = ()
    spacings: tuple[SpacingFacts, ...] = ()
    unconverged: tuple[str, ...] = ()


# ---- tank ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Rating:
    """Highest peak with the gap missing at one rating [V peak]. ``across`` counts between the ends, else from one end
    to earth. ``worst_limit`` is the limit with the parts of a string sharing unequally, None where nothing is shared.
    ``usual`` is the peak with the tank and the parts as stated, None where ``peak`` is no other. A ``limit`` of 0: no
    rating is known.
    """

    where: str
    peak: float
    limit: float
    mark: Mark
    across: bool = False
    worst_limit: float | None = None
    usual: float | None = None


@dataclass(frozen=True)
class TankUnit:
    """One capacitor of the tank or of a filter, its own bleeder [ohm] and the highest peak across it [V], None where
    that is not known. ``series`` such units make the string that must be drained as a whole.
    """

    where: str
    capacitance: float
    peak: float | None
    bleeder: float | None = None
    series: int = 1


@dataclass(frozen=True)
class TankFacts:
    """The tank with its gap missing.

    ``peak`` [V] is the highest across the whole tank of every steady state, None where not known. ``open_peak`` [V] is
    the highest of the open supply, one end to earth. ``safety_gap`` [V peak] is per leg to earth, None where there is
    none; ``safety_gap_high`` is the upper end of its band, None where it is exact. ``main_gap`` [V peak across] is the
    upper end of what the main gap fires at, None where that is not known, and ``end_share`` the largest share of the
    volts across that one end takes to earth. ``capacitance_band`` [F] is what the ratings' peaks were sought over.
    ``unfit`` is the capacitor that the tank is made of and why it is none for it. ``unrated`` names capacitors of the
    tank whose rating the file does not state. ``field`` [V/m peak] is that of home-built plates. ``legs`` counts the
    output ends off earth, each with a safety gap of its own.
    """

    capacitance: float
    peak: float | None = None
    open_peak: float | None = None
    safety_gap: float | None = None
    ratings: tuple[Rating, ...] = ()
    unrated: tuple[str, ...] = ()
    units: tuple[TankUnit, ...] = ()
    series: int = 1
    plates: bool = False
    field: float | None = None
    legs: int = 2
    air: Air = STANDARD_AIR
    safety_gap_high: float | None = None
    main_gap: float | None = None
    end_share: float | None = None
    capacitance_band: tuple[float, float] | None = None
    unfit: tuple[str, str] | None = None
    states: tuple[float, ...] = ()
    unconverged: tuple[str, ...] = ()
