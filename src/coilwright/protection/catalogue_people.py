"""Rules about people, the room and the running machine: most of them stand whatever the builder does."""

from __future__ import annotations

from coilwright.protection.rule import Rule

PEOPLE: tuple[Rule, ...] = (
    Rule(
        "local-code",
        "NOTE",
        True,
        "always; first line of every output",
        "coilwright advises; it never certifies. Local code and licensed practice prevail.",
        "Mains work, earthing and transmitters are regulated differently everywhere.",
        "-",
        "Ask the licensed electrician and the authority of the place; where they differ from this tool, they are "
        "right.",
        "design rule",
    ),
    Rule(
        "supply-kills",
        "STOP",
        True,
        "a high-voltage winding is on the shelf or in the supply",
        "Touching a high-voltage end is likely fatal.",
        "The short-circuit current is tens to hundreds of mA behind kilovolts; a few mA already hold the hand to "
        "the wire.",
        "5 mA rms let-go (whole population); 40 to 50 mA for 1 s and more: fibrillation",
        "Guard everything; two separate disconnections; never reach in with the plug in; never alone; no minors "
        "without a "
        "qualified adult.",
        "IEC TS 60479-1:2018, from memory; 5 mA also DOE-HDBK-1092, seen",
    ),
    Rule(
        "body-current",
        "STOP",
        True,
        "the current through a body from any live place to earth, or across a floating output, exceeds the let-go "
        "current",
        "A body between this place and earth, or from hand to hand across a floating output, carries this current.",
        "At kilovolts the body is 575 to 1000 ohm and hardly limits it; what a residual-current device sees stands "
        "beside it.",
        "5 mA rms through 575 and 1000 ohm",
        "Nothing that carries it may be reachable: enclosure, guard, two disconnections, drain and short before a "
        "hand goes in.",
        "IEC TS 60479-1 (body resistance and 5 mA), from memory; 5 mA also DOE-HDBK-1092, seen",
    ),
    Rule(
        "isolate-drain-short",
        "STOP",
        True,
        "always, on every page",
        "Unplug or lock off, plug in sight and key on you; wait; drain through the resistor stick; clip the "
        "shorting lead on and "
        "leave it; then touch.",
        "Bleeders fail open, contactors weld, strings keep charges of opposite signs.",
        "below 30 V rms, 42.4 V peak, 60 V DC before a hand goes in",
        "Prove the tester on a known source, prove dead, prove the tester again. One hand only, the other away from "
        "metal; nothing conductive on wrist or neck.",
        "EN 50191 and EN 50110-1, from memory; 42.4 V peak: IEC 60335-1 cl. 8.1.4, seen",
    ),
    Rule(
        "not-alone",
        "CAUTION",
        True,
        "always",
        "Have a second person there who knows the isolator and resuscitation.",
        "After a shock minutes count.",
        "-",
        "Cut the power before touching the victim; emergency number and address on the placard; any shock from the "
        "supply: hospital.",
        "common practice, no source",
    ),
    Rule(
        "medical-implant",
        "STOP",
        True,
        "always, on placard and demonstration page",
        "No pacemaker, defibrillator, pump or hearing implant in the room or next to its walls.",
        "Pulsed fields and ground currents may disturb or damage the implant.",
        "no limit found: keep out of that part of the building",
        "Ask every visitor before switch-on.",
        "EN 50527-1, from memory",
    ),
    Rule(
        "keep-out",
        "STOP",
        True,
        "a gap, a coil or a high-voltage supply is going to run",
        "Nobody and nothing earthed stands inside the ring.",
        "A strike, or a step onto ground that carries the base current; walls, wiring and lamps are struck as well "
        "as people.",
        "the larger of 2 x streamer and limited approach: 1.52 m to 15 kV, 1.83 m to 36 kV, 3.05 m above (table "
        "ends at 72.5 kV)",
        "Barrier, operator with a hold-to-run switch, one key. A room smaller than the ring needs a smaller machine "
        "or another room.",
        "NFPA 70E Table 130.4, seen; 2 x streamer: common practice, no source",
    ),
    Rule(
        "rcd-blind",
        "CAUTION",
        True,
        "the supply has a separated high-voltage winding",
        "The residual-current device does not see a shock from a separated high-voltage side.",
        "While the winding is separated no current leaves the pair of line and neutral; the largest residual of the "
        "model, a body included, stands beside the trip level.",
        "-",
        "Keep it for faults of the mains side; never count it as protection against the output.",
        "IEC 61008 and IEC 60364-4-41, from memory",
    ),
    Rule(
        "skin-effect-myth",
        "CAUTION",
        True,
        "any coil output",
        "Streamers are not harmless because of skin effect.",
        "At 200 kHz the skin depth in tissue is about 2 m (0.3 S/m): the current goes through the body, nerves just "
        "do not report "
        "it, and 50 or 60 Hz can ride on the channel.",
        "r.f. contact current, public: 45 mA at 100 kHz",
        "Nobody takes streamers; earth the target rod.",
        "IEEE C95.1-1991 as in DOE-HDBK-1092, seen; conductivity from memory",
    ),
    Rule(
        "fire",
        "CAUTION",
        True,
        "the machine is going to run",
        "Arcs, oil, films, dust, petrol vapour and racing sparks set fire.",
        "An arc in air is hotter than the flash point of everything in a workshop.",
        "-",
        "CO2 extinguisher, power off first, nothing flammable inside 2 x streamer, look again after 30 min, never "
        "unattended.",
        "common practice, no source",
    ),
    Rule(
        "gap-uv",
        "CAUTION",
        True,
        "any open gap",
        "The gap gives ultraviolet light and glare.",
        "It burns eyes and skin hours before it hurts.",
        "30 J/m2 effective in 8 h (180 to 400 nm)",
        "Opaque cover or welding shade; nobody looks in.",
        "ICNIRP 2004, from memory",
    ),
    Rule(
        "ozone-nox",
        "CAUTION",
        True,
        "any gap or streamer indoors",
        "Ozone and nitrogen oxides: if you smell it, stop.",
        "No yield of an open gap was found: what stands beside it is a wide band on assumptions.",
        "ozone 0.1 ppm; nitrogen dioxide 1 ppm for 15 min, 5 ppm ceiling",
        "Window and fan, minutes not hours; asthmatics out.",
        "OSHA 29 CFR 1910.1000 and NIOSH, seen; NIOSH nitrogen dioxide from memory",
    ),
    Rule(
        "noise",
        "CAUTION",
        True,
        "any gap above 100 W",
        "The bang damages hearing.",
        "The level rests on an assumed share of the power that becomes sound: take the upper end.",
        "85 dBA over 8 h; 140 dB peak",
        "Ear defenders for all, also for visitors and animals; tell the neighbours.",
        "NIOSH and Directive 2003/10/EC, from memory",
    ),
    Rule(
        "interference",
        "CAUTION",
        True,
        "any run outside a screened room",
        "Damped-wave transmission is unlawful as a radio service and may disturb other services.",
        "A spark transmitter is broadband.",
        "no harmful interference",
        "Screened room or very short runs; stop at the first complaint; ask the authority.",
        "ITU Radio Regulations, 47 CFR 15, 2014/30/EU, from memory",
    ),
    Rule(
        "electronics",
        "NOTE",
        True,
        "any run",
        "Computers, phones, alarms, hearing aids, network and heating controls nearby die.",
        "Fields and ground currents couple into every lead.",
        "-",
        "Unplug and move them; filter turned with its load side to the coil; no fire alarm system in the room.",
        "common practice, no source",
    ),
    Rule(
        "animals-children",
        "CAUTION",
        True,
        "always, on the placard",
        "Pets and children go under barriers; animals hear it and panic.",
        "They cannot read a placard.",
        "-",
        "Locked door, nobody else in the room.",
        "common practice, no source",
    ),
    Rule(
        "audience",
        "STOP",
        True,
        "a coil is going to run: any showing of it",
        "Showing it to others needs permission, and more distance than running it.",
        "Visitors do not know the ring, implants are not seen, and a crowd cannot step back.",
        "1.5 x keep-out",
        "Ask venue, insurer and fire officer; ask every visitor for implants; a steward at the isolator; nobody "
        "touches anything.",
        "common practice, no source",
    ),
    Rule(
        "storage",
        "CAUTION",
        True,
        "a set is stored or moved",
        "A stored set still holds charge, and it is heavy.",
        "Dielectric absorption brings part of the charge back after a drain.",
        "-",
        "Every capacitor shorted, key away, plug locked, label stays.",
        "common practice, no source",
    ),
    Rule(
        "system-unknown",
        "CAUTION",
        False,
        "earthing or line system of the site assumed or unknown",
        "The earthing or the line system of the place is assumed.",
        "Split-phase, TT and IT change what sits on the core and what trips; both poles may be live.",
        "-",
        "State system and earthing under [site]; two-pole switch and breaker.",
        "IEC 60364-1 and NEC 250, from memory",
    ),
    Rule(
        "earthing-tt-it",
        "CAUTION",
        False,
        "earthing of the site stated as TT or IT",
        "Here a fault to a core does not blow the breaker.",
        "TT: the earth rod's ohms hold the fault's current far below what trips a breaker; only a residual-current "
        "device cuts it. IT: a first fault trips nothing and shows nothing, the other pole rises to full volts against "
        "earth, and a second fault is a short from core to core.",
        "ohms of the earth x what trips (TT) or x the first fault's current (IT): at most 50 V",
        "TT: residual-current device of 30 mA or less ahead of the set, its earth measured by an electrician. IT: "
        "insulation monitor, both poles switched and both with breakers, all cores bonded together and to one earth; "
        "no pole of it is a neutral.",
        "IEC 60364-4-41 cl. 411.5.3 and 411.6.2, from memory",
    ),
    Rule(
        "contactor-weld",
        "CAUTION",
        False,
        "fewer than two means of disconnection stated",
        "One contactor, or nothing stated, is the only disconnection.",
        "Contacts weld on inrush.",
        "2 means of disconnection in series, one of them visible",
        "Isolator or plug as well; stop button that cuts the supply; state `disconnections` under [protection].",
        "EN ISO 13850 and EN 60204-1, from memory",
    ),
)
