"""Projects for `tank`: the demo with one thing changed, and a sign transformer on the mains of 120 V and 60 Hz."""

from __future__ import annotations

from coilwright.project.start import demo_text

STRINGS = 'strings = { part = "C3", series = 8, parallel = 2, bleeder = "10 Mohm" }'
PROTECTION = "[protection]                    # wrong on purpose: no safety gap (STOP)\n"

#: Everything is proved and fitted: no STOP is left open. The proof test is what the demo's way out names.
SIGN = """format = 1
[project]
name = "One sign transformer"
[site]
mains = "120 V"
frequency = "60 Hz"
breaker = "15 A"
earthing = "TN"
system = "line and neutral"
plug = "as marked"
altitude = "1600 m"
room = { ceiling = "6 m", wall_distance = "4 m", length = "12 m", width = "10 m" }
[[instrument]]
id = "bond tester"
accuracy = { resistance = "5 %" }
rating = "50 V"
[[instrument]]
id = "withstand tester"
accuracy = { voltage = "3 %" }
rating = "40 kV"
[[transformer]]
id = "N1"
kind = "sign"
plate_primary = "120 V"
plate_secondary = "9000 V"
plate_current = "30 mA"
core_end = "tap"
secondary_protection = "none"
bond_test = [{ current = "10 A", resistance = "0.02 ohm", instrument = "bond tester", date = 2026-03-01 }]
[[transformer.proof_test]]
between = ["high", "core"]
applied = "25 kV"
duration = "60 s"
method = "applied"
instrument = "withstand tester"
date = 2026-03-01
by = "a test house"
[[capacitor]]
id = "K"
use = "tank"
value = "0.15 uF"
rated = "2000 V DC"
dielectric = "polypropylene film and foil"
made = 2015
dv_dt = "2000 V/us"
size = ["44 mm", "22 mm", "33 mm"]
lead_pitch = "37.5 mm"
count = 40
[[arrangement]]
name = "sign"
output = ["hot_a", "hot_b"]
[arrangement.joint]
live = ["mains.line", "N1.primary_start"]
return = ["mains.neutral", "N1.primary_finish"]
ground = ["mains.earth", "N1.core"]
hot_a = ["N1.high_start"]
hot_b = ["N1.high_finish"]
[supply]
use = "sign"
"""
SIGN_TANK = """[tank]
strings = { part = "K", series = 20, parallel = 2, bleeder = "10 Mohm" }
"""
SIGN_GAP = """[gap]
kind = "segmented"
electrode = { form = "tube", diameter = "22 mm" }
spacing = "0.4 mm"
segments = 5
"""
SIGN_PROTECTION = """[protection]
safety_gap = { voltage = "6.8 kV" }
disconnections = 2
bleeder = { resistance = "100 Mohm", power = "5 W" }
filter = { resistance = "1 kohm", capacitance = "470 pF" }
fuse = "8 A T"
interlock = true
second_protective_conductor = true
"""
#: The filter's capacitor with the bleeder of its own that the one across the tank does not stand for.
SIGN_FILTER = """[[capacitor]]
id = "F"
use = "filter"
value = "470 pF"
rated = "10 kV AC"
dielectric = "polypropylene"
made = 2015
count = 2
bleeder = "500 Mohm"
"""
PLATES = """[tank]
plates = { form = "flat", dielectric = "polyethylene", thickness = "3 mm", area = "0.1 m2", count = 20 }
"""
ROTOR = """[gap]
kind = "synchronous rotary"
electrode = { form = "rod", diameter = "6 mm" }
electrode_material = "tungsten"
spacing = "1.2 mm"
speed = "1800 rpm"
presentations = 4
phase = "80 deg"
electrode_radius = "90 mm"
electrode_mass = "20 g"
disc = { material = "glass-epoxy", diameter = "220 mm", thickness = "10 mm", bore = "12 mm" }
bolt = "5 mm"
shield = { material = "steel", thickness = "4 mm", all_round = true }
"""


def demo_with(*changes: tuple[str, str]) -> str:
    """Return the demo project with words exchanged."""
    text = demo_text()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


PROJECTS = {
    "demo": demo_text(),
    "safety gap": demo_with((PROTECTION, '[protection]\nsafety_gap = { voltage = "3.0 kV" }\n')),
    "four strings": demo_with((STRINGS, STRINGS.replace("parallel = 2", "parallel = 4"))),
    "proved": SIGN + SIGN_FILTER + SIGN_TANK + SIGN_GAP + SIGN_PROTECTION,
    "nothing": SIGN,
    "rotor and plates": SIGN + PLATES + ROTOR + SIGN_PROTECTION,
}
