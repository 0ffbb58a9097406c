"""Every fault of a job file is named with its key path, the value given and what is allowed.

The job is invented; each case changes it in one place and looks for the one fault that this makes.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planner.errors import FileFaultsError
from planner.job.reading import GREATEST_SHOWN, load_job

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")

FAN = 'outline = { shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }'
EXISTING = 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 20 } ]'
MADE = '[[cuts_made]]                   # written by `done`\nafter_spin = 1\nstep = 1'
MADE_CUT = 'cut = "rim hole"\nangle = 131\ndiameter = 14\ndepth = 22.5'
TRIAL = 'mass_plane = "left"\nmass = 12\nradius = 80\nangle = 270'
FIXED = 'cut = "slug"\nangle = 200\ndiameter = "3/4 in"\nradius = 70'
TOLERANCE = 'grade = "G 16"'
BOBS = "bobs = 1729.0 "
LEFT = "left = { amount = 4210, angle = 138 }"


PARTS = WHOLE[WHOLE.index("\n[parts]") : WHOLE.index("\n[[spins]]")]


def shop(line: str) -> tuple[str, str]:
    return "drills = [10", f"{line}\ndrills = [10"


# (what, text to replace, its replacement, what the message must say)
CASES: tuple[tuple[str, str, str, str], ...] = (
    # the frame of the file
    ("no format", "format = 1", "", r"format; must be said.*\n.*write `format = 1`"),
    ("later format", "format = 1", "format = 2", r"format: given `2`; this program reads format 1"),
    ("format as text", "format = 1", 'format = "one"', r'format: given `"one"`; this program reads'),
    ("unknown section", "[match]", "[macht]", r"macht; there is no such section\n.*did you mean `match`\?"),
    ("key outside", "format = 1", "format = 1\ndensity = 7.8", r"density: given `7.8`; there is no such section\n.*below the"),
    ("table for array", "[[mounted]]", "[mounted]", r"mounted: given .*a list of tables is wanted.*\n.*\[\[mounted\]\]"),
    ("array for table", "\n[planes]", "\n[[planes]]", r"planes: given .*a table is wanted"),
    ("number for array", "[[fixed_cuts]]\ncounterweight", "[x]\nfixed_cuts = 5\n[[fixed_cuts_]]\ncounterweight", r"fixed_cuts_"),
    ("unknown key", "thickness = 24.0", "thicknes = 24.0", r'counterweights\[1\] "A"\.thicknes: given `24`; there is no such key here\n.*did you mean `thickness`'),
    ("missing key", "thickness = 24.0", "", r'counterweights\[1\] "A"\.thickness; must be said'),
    ("missing, near", "thickness = 24.0", "thicknes = 24.0", r"is `thicknes` meant to be `thickness`\?"),
    ("unit in key", "thickness = 24.0", "thickness = 24.0\nz_mm = 3", r"z_mm: given `3`; there is no such key here"),
    ("angle with unit in key", "half_angle = 58.0", "half_angle_deg = 58.0", r"outline\.half_angle_deg: .*\n.*(did you mean|write) `half_angle`"),
    # numbers
    ("text for number", "thickness = 24.0", 'thickness = "thick"', r'thickness: given `thick`; a length is a number or a text'),
    ("wrong unit", "thickness = 24.0", 'thickness = "24 kg"', r"thickness: given `24 kg`; a length is in.*\n.*unit of a mass"),
    ("mass for unbalance", '"20 oz-in"', '"20 oz"', r'mounted\[1\] "flywheel"\.unbalance: given `20 oz`.*\n.*did you mean `oz\*in`'),
    ("bool for number", "thickness = 24.0", "thickness = true", r"thickness: given `true`; a number"),
    ("nan", "thickness = 24.0", "thickness = nan", r"thickness: given `nan`; a length must be a finite"),
    ("inf", "service_speed_rpm = 6500", "service_speed_rpm = inf", r"service_speed_rpm: given `inf`; a speed must be a finite"),
    ("huge", "thickness = 24.0", "thickness = 1" + "0" * 400, r"thickness: given .*a length must be a finite"),
    ("negative length", "thickness = 24.0", "thickness = -24.0", r"thickness: given `-24`; more than 0 mm is allowed"),
    ("negative mass", 'mass = "24.1 kg"', 'mass = "-24.1 kg"', r"crankshaft\.mass: given `-24.1 kg`; more than 0 kg"),
    ("mass in the wrong unit", 'mass = "24.1 kg"', "mass = 24.1", r"crankshaft\.mass: given `24.1`; this reads as 24.1 g.*\n.*\"24.1 kg\""),
    ("angle as text", 'angle = 0\nz = 95.0', 'angle = "0"\nz = 95.0', r'throws\[1\] "1"\.angle: given `"0"`; an angle in degrees.*\n.*without quotes'),
    ("angle with unit", 'angle = 0\nz = 95.0', 'angle = "0 deg"\nz = 95.0', r'throws\[1\] "1"\.angle: .*\n.*without quotes and unit: 0'),
    ("angle bool", 'angle = 0\nz = 95.0', "angle = false\nz = 95.0", r"angle: given `false`; an angle"),
    ("angle nan", 'angle = 0\nz = 95.0', "angle = nan\nz = 95.0", r"angle: given `nan`; an angle.*finite"),
    ("angle too far", LEFT, "left = { amount = 4210, angle = 1380 }", r"spins\[1\]\.left\.angle: given `1380`; at most 360"),
    ("empty name", 'name = "A"', 'name = ""', r"counterweights\[1\]\.name: given an empty name"),
    ("name with spaces", 'name = "A"', 'name = " A"', r"name has no spaces at its ends"),
    ("name bool", 'name = "A"', "name = true", r"name: given `true`; a name in quotes"),
    ("date as text", "date = 2026-01-31", 'date = "2026-01-31"', r"job\.date: .*without quotes\n.*2026-01-31"),
    ("date as number", "date = 2026-01-31", "date = 2026", r"job\.date: given `2026`; a date such as"),
    ("date in words", "date = 2026-01-31", 'date = "31 January"', r"job\.date: .*\n.*year, month, day"),
    ("title a list", 'title = "Cross-plane V8, lighter pistons"', "title = [1]", r"job\.title: given `\[1\]`; a text in quotes"),
    ("flag as text", "in_engine = true", 'in_engine = "yes"', r'in_engine: given `"yes"`; true or false'),
    ("flag missing", "in_engine = true", "", r"in_engine; whether the part is there in the running engine must be said"),
    ("whole number", "rods = 2", "rods = 2.0", r"rods: given `2`; a whole number is wanted.*\n.*write 2"),
    ("rods 0", "rods = 2", "rods = 0", r"rods: given `0`; 1 or more is allowed"),
    ("after_spin huge", "[[cuts_made]]                   # written by `done`\nafter_spin = 1", "[[cuts_made]]\nafter_spin = 99999999", r"a whole number from 0 to 1000000"),
    ("list wanted", "keep_out = [", "keep_out = 5 # [", r"keep_out: given `5`; a list in \[ \] is wanted"),
    ("unit of length", 'length = "mm"', 'length = "mmm"', r"units\.length: .*`mmm`.*\n.*did you mean"),
    ("unit of unbalance", 'unbalance = "g*mm"', 'unbalance = "g"', r"units\.unbalance: .*\n.*`g\*mm`"),
    ("units unknown key", 'length = "mm"', 'lenght = "mm"', r"units\.lenght.*\n.*did you mean `length`"),
    # machine and planes
    ("direction", 'angle_direction = "ccw"', 'angle_direction = "cww"', r'machine\.angle_direction: given `"cww"`; allowed: `c?cw`, `c?cw`\Z'),
    ("marks", '"heavy spot"     ', '"heavy_spot"', r"angle_marks: .*allowed: `heavy spot`, `light spot`\n.*did you mean `heavy spot`"),
    ("direction not said", 'angle_direction = "ccw" ', "# ", r"machine\.angle_direction; the way the machine's angles grow must be said"),
    ("viewed from not said", 'viewed_from = "front"  ', "# ", r"machine\.viewed_from; from which end"),
    ("zero not said", 'angle_zero = "throw 1" ', "# ", r"machine\.angle_zero; where the machine's 0 lies must be said"),
    ("marks not said", 'angle_marks = "heavy spot" ', "# ", r"machine\.angle_marks; what the angle shown marks must be said"),
    ("unknown zero throw", '"throw 1"', '"throw 9"', r'machine\.angle_zero: given `"throw 9"`; there is no such throw; there are `1`'),
    ("zero in other words", '"throw 1"', '"1"', r'angle_zero: given `"1"`; "throw NAME".*\n.*did you mean "throw 1"\?'),
    ("zero bool", 'angle_zero = "throw 1"', "angle_zero = true", r'angle_zero: given `true`; "throw NAME"'),
    ("zero by machine", "angle = 0\nz = 95.0", "machine_angle = 0\nz = 95.0", r"angle_zero: .*throw `1` is itself given by a machine_angle"),
    ("mass without radii", 'amounts = "unbalance"', 'amounts = "mass"', r"planes\.left_radius; must be said, because the machine's amounts are masses"),
    ("planes equal", "right = 480.0", "right = 40.0", r"planes; left and right are both at z = 40.0 mm"),
    ("planes close", "right = 480.0", "right = 91.0", r"planes; left and right are 51.0 mm apart; at least a tenth of the bearing span, 52.0 mm"),
    ("no left plane", "left = 40.0", "", r"planes\.left; where the machine's left reading plane is"),
    # crankshaft and throws
    ("bearings equal", "bearing_2_z = 520.0", "bearing_2_z = 0.0", r"crankshaft\.bearing_2_z: given `0`; the two bearings are at the same z"),
    ("no bearing", "bearing_1_z = 0.0", "", r"crankshaft\.bearing_1_z; where the front bearing's middle is"),
    ("material and density", "density = 7.85 ", 'density = 7.85\nmaterial = "forged steel" # ', r"crankshaft\.material: .*say density or material, not both"),
    ("unknown material", "density = 7.85 ", 'material = "forged stel" # ', r"crankshaft\.material; material `forged stel` is not known.*\n.*did you mean `forged steel`"),
    ("density per m3", "density = 7.85 ", "density = 7850 # ", r"crankshaft\.density: given `7850`; at most 25 g/cm3"),
    ("twin throws", 'name = "2"\nangle = 90', 'name = "1"\nangle = 90', r'throws\[2\] "1"\.name: given `"1"`; every throw needs a name of its own; throws\[1\]'),
    ("no angle", 'name = "2"\nangle = 90', 'name = "2"', r'throws\[2\] "2"\.angle; must be said, it is missing\n.*machine_angle'),
    ("both angles", 'name = "2"\nangle = 90', 'name = "2"\nangle = 90\nmachine_angle = 90', r"throws\[2\] \"2\"\.machine_angle: .*say angle or machine_angle, not both"),
    ("no rods", 'cylinders = ["2", "6"]', "", r'throws\[2\] "2"\.rods; how many rods'),
    ("rods and cylinders", "rods = 2", "rods = 1", r'throws\[1\] "1"\.cylinders: given .*; the throw has 1 rods'),
    ("cylinder on two throws", 'cylinders = ["2", "6"]', 'cylinders = ["2", "5"]', r'throws\[2\] "2"\.cylinders\[2\]: given `"5"`; a cylinder hangs on one throw only; this one hangs on throws\[1\]'),
    ("cylinder twice", 'cylinders = ["2", "6"]', 'cylinders = ["2", "2"]', r"a cylinder hangs on one throw only"),
    # counterweights
    ("shape", 'shape = "fan"', 'shape = "halfdisc"', r'outline\.shape: given `"halfdisc"`; allowed: `fan`, .*\n.*did you mean `half disc`'),
    ("fan without angle", "half_angle = 58.0, ", "", r'counterweights\[1\] "A"\.outline\.half_angle; must be said, for a fan'),
    ("disc with angle", 'shape = "fan"', 'shape = "disc"', r"outline\.half_angle: given `58`; a disc has no half_angle; its keys are outer_radius, inner_radius"),
    ("inner above outer", "inner_radius = 36.0", "inner_radius = 96.0", r'counterweights\[1\] "A"\.outline; outline `fan` has inner radius'),
    ("half angle", "half_angle = 58.0", "half_angle = 258.0", r"half_angle: given `258`; at most 180"),
    ("points not pairs", FAN, 'outline = { shape = "points", points = [[1, 2, 3], [4, 5], [6, 7]], inner_radius = 1 }', r"outline\.points\[1\]: given `\[1, 2, 3\]`; a point is two numbers"),
    ("points crossing", FAN, 'outline = { shape = "points", points = [[0, 0], [50, 50], [50, 0], [0, 50]], inner_radius = 1 }', r"outline; outline `points` .*(simple ring|Self-intersection)"),
    ("outline missing", FAN, "", r'outline; a shape must be said: \{ shape = "fan"'),
    ("outline a text", FAN, 'outline = "fan"', r'outline: given `"fan"`; a table is wanted here\n.*shape = \.\.'),
    ("cut kind", 'cuts = ["rim hole"', 'cuts = ["rimhole"', r'cuts\[1\]: given `"rimhole"`; allowed: `rim hole`, `face hole`, `slug`, `fill`\n.*did you mean `rim hole`'),
    ("cut twice", 'cuts = ["rim hole"', 'cuts = ["slug"', r"cuts: given .*every kind is named once"),
    ("rim hole without rim", FAN, 'outline = { shape = "points", points = [[0, -50], [60, 0], [0, 50]], inner_radius = 1 }', r"cuts: .*a rim hole needs a rim"),
    ("no counterweight", WHOLE[WHOLE.index("[[counterweights]]") : WHOLE.index("[[mounted]]")], "", r"\[\[counterweights\]\]; at least one counterweight is wanted"),
    ("face hole, no radius", EXISTING, 'existing = [ { cut = "face hole", angle = 171, diameter = 12, depth = 20 } ]', r"existing\[1\]\.radius; the radius .* must be said, for a face hole"),
    ("rim hole, radius", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 20, radius = 60 } ]', r"existing\[1\]\.radius: given `60`; a rim hole begins at the rim"),
    ("neither depth nor through", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12 } ]', r'"A"\.existing\[1\]; depth must be said, or through = true'),
    ("depth and through", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 2, through = true } ]', r"existing\[1\]\.depth: given `2`; a hole that goes through has no depth"),
    ("existing slug", EXISTING, 'existing = [ { cut = "slug", angle = 171, diameter = 12, depth = 20 } ]', r'existing\[1\]\.cut: given `"slug"`; allowed: `rim hole`, `face hole`'),
    ("shorter than its point", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 2, depth_to = "tip" } ]', r"existing\[1\]\.depth: .*the drill's point alone is 3\.6"),
    ("hole off the outline", EXISTING, 'existing = [ { cut = "face hole", angle = 171, diameter = 12, depth = 20, radius = 90 } ]', r"existing\[1\]\.radius: given `90`; the hole's axis lies outside"),
    ("hole deeper than thick", EXISTING, 'existing = [ { cut = "face hole", angle = 171, diameter = 12, depth = 30, radius = 60 } ]', r"existing\[1\]\.depth: given `30`; the counterweight is only 24.0 mm thick"),
    ("hole wider than thick", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 25, depth = 20 } ]', r"existing\[1\]\.diameter: given `25`; a rim hole is narrower"),
    ("hole past the axis", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 88 } ]', r"existing\[1\]\.depth: given `88`; a rim hole ends before the axis"),
    ("point angle", EXISTING, 'existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 8, point_angle = 10 } ]', r"point_angle: given `10`; at least 60"),
    ("keep-out radii", "from_radius = 36, to_radius = 60", "from_radius = 60, to_radius = 60", r'"A"\.keep_out\[1\]; from_radius must be below to_radius'),
    ("keep-out angles", "from_angle = 120, to_angle = 128", "from_angle = 120", r'keep_out\[1\]; a sector needs from_angle and to_angle'),
    ("keep-out no width", "from_angle = 120, to_angle = 128", "from_angle = 120, to_angle = 120", r"keep_out\[1\]; from and to are the same angle"),
    ("drilling without length", "to = { z = 95, radius = 44, angle = 10 }", "to = { z = 40, radius = 0 }", r"oil_drillings\[1\]; from and to are the same point"),
    ("drilling's end without angle", "to = { z = 95, radius = 44, angle = 10 }", "to = { z = 95, radius = 44 }", r"oil_drillings\[1\]\.to\.angle; must be said"),
    ("drilling's end unknown key", "to = { z = 95, radius = 44, angle = 10 }", "to = { z = 95, radius = 44, angel = 10 }", r"oil_drillings\[1\]\.to\.angel: .*\n.*did you mean `angle`"),
    # shop and errors
    ("no drill", 'drills = [10, 12, 14, "5/8 in"]', "drills = []", r"shop\.drills; the list is empty"),
    ("negative drill", 'drills = [10, 12', "drills = [-10, 12", r"shop\.drills\[1\]: given `-10`; more than 0"),
    ("drill twice", 'drills = [10, 12', 'drills = [10, "1 cm"', r'shop\.drills\[2\]: given `"1 cm"`; every size is named once; drills\[1\]'),
    ("one drill, no list", 'drills = [10, 12, 14, "5/8 in"]', "drills = 10", r"shop\.drills: given `10`; a list"),
    ("angle step", "angle_step = 1", "angle_step = 7", r"shop\.angle_step: given `7`; a whole number of steps must make 360 degrees\n.*would"),
    ("depths", "least_depth = 5", "least_depth = 45", r"shop\.least_depth: given `45`; least_depth 45.0 mm must be below greatest_depth 45.0 mm"),
    ("least depth 0", "least_depth = 5", "least_depth = 0", r"shop\.least_depth: given `0`; least_depth must be more than 0"),
    ("depth step", "depth_step = 0.5", "depth_step = 50", r"shop\.depth_step: given `50`; depth_step 50.0 mm is more than lies between"),
    ("oversize", "hole_oversize = 0.0", "hole_oversize = 3", r"shop\.hole_oversize: given `3`; 3.0 mm is more than a fifth"),
    ("depth to", 'depth_to = "shoulder"', 'depth_to = "sholder"', r"shop\.depth_to: .*\n.*did you mean `shoulder`"),
    ("forbid", *shop('forbid = ["B"]'), r'shop\.forbid\[1\]: given `"B"`; there is no such counterweight; there are `A`'),
    ("allow empty", *shop("allow = []"), r"shop\.allow; the list is empty"),
    ("aim 0", *shop("aim = 0"), r"shop\.aim: given `0`; more than 0"),
    ("aim above 1", *shop("aim = 1.5"), r"shop\.aim: given `1.5`; at most 1"),
    ("slug class and density", *shop('slug_class = "ASTM B777 class 2"'), r"shop\.slug_class: .*say slug_density or slug_class"),
    ("slug class", "slug_density = 17.5 ", 'slug_class = "lead" # ', r"shop\.slug_class; slug class `lead` is not known"),
    ("price of no slug", '{ "3/4 in" = 0 }', '{ "7/8 in" = 0 }', r'shop\.slug_price\."7/8 in": given `0`; no slug of this diameter'),
    ("price twice", '{ "3/4 in" = 0 }', '{ "3/4 in" = 0, "0.75 in" = 1 }', r"slug_price: given `0\.75 in`; every diameter has one price"),
    ("price negative", '{ "3/4 in" = 0 }', '{ "3/4 in" = -1 }', r"slug_price: given `-1` for 3/4 in; a price"),
    ("price no table", '{ "3/4 in" = 0 }', "12", r"slug_price: given `12`; a table is wanted"),
    ("errors negative", "depth = 0.25", "depth = -0.25", r"errors\.depth: given `-0\.25`; at least 0"),
    ("errors percent", "density_percent = 0.5", 'density_percent = "0.5"', r"errors\.density_percent: .*\n.*without quotes"),
    # tolerance
    ("two ways", TOLERANCE, 'grade = "G 16"\ntotal = 500', r"tolerance; given `grade`, `total` as the tolerance; exactly one way"),
    ("no way", TOLERANCE, "", r"tolerance; given nothing as the tolerance"),
    ("half a pair", TOLERANCE, "left = 500", r"tolerance; given a tolerance `left` without `right`"),
    ("grade", TOLERANCE, 'grade = "H 16"', r'tolerance\.grade: given `"H 16"`'),
    ("grade bool", TOLERANCE, "grade = true", r"tolerance\.grade: given `true`; a balance grade"),
    ("limit 0", TOLERANCE, "total = 0", r"tolerance\.total: given `0`; more than 0"),
    ("judged at", 'judged_at = "bearings"', 'judged_at = "bearing"', r"tolerance\.judged_at: .*\n.*did you mean `bearings`"),
    ("grade without mass", 'mass = "24.1 kg"', "", r"crankshaft\.mass; must be said, because the tolerance is a grade"),
    ("grade without speed", "service_speed_rpm = 6500", "", r"crankshaft\.service_speed_rpm; must be said, because"),
    # engine and parts
    ("rotation", 'rotation = "cw"', 'rotation = "clockwise"', r"engine\.rotation: .*allowed: `cw`, `ccw`"),
    ("firing twice", "[1, 8, 4, 3, 6, 5, 7, 2]", "[1, 8, 4, 3, 6, 5, 7, 1]", r'engine\.firing_order\[8\]: given `"1"`; every cylinder fires once'),
    ("firing unknown", 'firing_order = [1, 8, 4, 3, 6, 5, 7, 2]', "firing_order = [9]", r'engine\.firing_order\[1\]: given `"9"`; there is no such cylinder'),
    ("cylinder's throw", 'throw = "1"\nbank_angle', 'throw = "7"\nbank_angle', r'cylinders\[1\] "1"\.throw: given `"7"`; there is no such throw'),
    ("cylinder's other throw", 'throw = "1"\nbank_angle', 'throw = "2"\nbank_angle', r'cylinders\[1\] "1"\.throw: given `"2"`; throw `1` names this cylinder'),
    ("pin offset", "offset = 0.0", "offset = 152.0", r'cylinders\[1\] "1"\.offset: given `152`; the pin\'s offset'),
    ("fraction", "reciprocating_fraction = 0.5", "reciprocating_fraction = 50", r"parts\.reciprocating_fraction: given `50`; at most 1"),
    ("part unknown", "pin = 118.0", "pins = 118.0", r"parts\.pins: given `118`; there is no such part.*\n.*did you mean `(pin|rings)`"),
    ("part of another kind", "pin = 118.0", "counter_mass = 118.0", r"parts\.counter_mass: .*\n.*another part says all of it"),
    ("part half said", "pin = 118.0", "locks = { mass = 3 }", r"parts\.locks; part `locks` is none of"),
    ("part negative", "pin = 118.0", "pin = -118.0", r"parts\.pin: given `-118`; at least 0 g"),
    ("part in a list", "412.6, 411.9", '412.6, "411.9 mm"', r"parts\.piston\[2\]: given `411\.9 mm`; a mass is in"),
    ("part in a table", "pin = 118.0", "pin = { mass = -1 }", r"parts\.pin\.mass\[1\]: given `-1`"),
    ("lengths differ", "412.4, 412.1]", "412.4]", r"parts; part `piston` has 7 numbers, the engine has 8 cylinders"),
    ("list empty", "pin = 118.0", "pin = []", r"parts\.pin: given an empty list"),
    ("parts no table", PARTS, "\n[[parts]]\nx = 1\n", r"parts: given .*a table is wanted here, \[parts\]"),
    ("no part", PARTS, "\n[parts]\n", r"parts; no part is named"),
    ("cylinders not named", 'cylinders = ["2", "6"]', "rods = 2", r"parts; the masses of `piston` differ, but only 6 of 8 cylinders are named"),
    ("removal of what", "greatest_removal = { piston = 8,", "greatest_removal = { pistn = 8,", r"match\.greatest_removal\.pistn: given `8`; there is no such part.*\n.*`piston`"),
    ("no bodies", 'bodies = [{ name = "body", weight = 900, count = 8 }]', "", r"bob_set\.bodies; at least one body"),
    ("bob wanted 0", "[match]", "[bobs]\nwanted = 0\n[match]", r"bobs\.wanted: given `0`; a wanted bob is more than 0"),
    ("bob wanted unknown throw", "[match]", '[bobs]\nwanted = { "1" = 5, "9" = 5 }\n[match]', r"bobs\.wanted\.9: given `\"9\"`; there is no such throw"),
    ("bob wanted, a throw left out", "[match]", '[bobs]\nwanted = { "1" = 5, "2" = 5 }\n[match]', r"bobs\.wanted; what was on throw `3`, `4` must be said"),
    ("bob wanted twice", "rods = 2", "rods = 2\nbob_wanted = 5\n[bobs]\nwanted = 1729\n[[bob]]", r"bobs\.wanted: given `1729`; throw `1` has a bob_wanted of its own"),
    # spins, trials, cuts
    ("bobs not said", BOBS, "# ", r"spins\[1\]\.bobs; what was clamped on must be said.*0 = spun bare"),
    ("bobs negative", BOBS, "bobs = -1 # ", r"spins\[1\]\.bobs: given `-1`; at least 0 g"),
    ("bobs bool", BOBS, "bobs = false # ", r"spins\[1\]\.bobs: given `false`; one mass, or a table"),
    ("bobs unknown throw", BOBS, 'bobs = { "1" = 1, "2" = 1, "3" = 1, "5" = 1 } #', r"spins\[1\]\.bobs\.5: given `\"5\"`; there is no such throw; there are `1`, `2`, `3`, `4`"),
    ("bobs of a throw bool", BOBS, 'bobs = { "1" = true } #', r"spins\[1\]\.bobs: given `true` for throw 1; a mass"),
    ("bobs of a throw in mm", BOBS, 'bobs = { "1" = "5 mm" } #', r"spins\[1\]\.bobs: given `5 mm`; a mass is in"),
    ("unknown mounted", 'mounted = ["flywheel"] ', 'mounted = ["flywhel"] ', r'spins\[1\]\.mounted\[1\]: given `"flywhel"`; there is no such mounted part; there are `flywheel`\n.*did you mean `flywheel`'),
    ("mounted twice", 'mounted = ["flywheel"] ', 'mounted = ["flywheel", "flywheel"] ', r"spins\[1\]\.mounted\[2\]: .*every part is named once"),
    ("amount not said", LEFT, "left = { angle = 138 }", r"spins\[1\]\.left\.amount; the amount of a reading must be said"),
    ("angle not said", LEFT, "left = { amount = 4210 }", r"spins\[1\]\.left\.angle; an angle must be said"),
    ("left not said", LEFT, "", r"spins\[1\]\.left; the reading of the left plane must be said"),
    ("left a number", LEFT, "left = 4210", r"spins\[1\]\.left: given `4210`; a table is wanted here\n.*amount = \.\., angle"),
    ("amount negative", LEFT, "left = { amount = -4210, angle = 138 }", r"spins\[1\]\.left\.amount: given `-4210`; at least 0"),
    ("amount of another kind", LEFT, 'left = { amount = "4 g", angle = 138 }', r"spins\[1\]\.left\.amount: given `4 g`; an unbalance .* is in"),
    ("amount bool", LEFT, "left = { amount = true, angle = 138 }", r"left\.amount: given `true`; a number"),
    ("first repeats", "repeat = false", "repeat = true", r"spins\[1\]\.repeat: given `true`; the first spin repeats nothing"),
    ("known mass", "repeat = false", "known_mass = { mass = 10, radius = 85, z = 52 }\nrepeat = false", r"spins\[1\]\.known_mass\.angle; an angle must be said"),
    ("trials, none bare", 'phase = 206 }\n', 'phase = 206 }\nmass_plane = "right"\nunbalance = 5\nangle = 0\n', r"trials; one run without a trial mass is wanted"),
    ("trial mass not said", TRIAL, 'mass_plane = "left"\nangle = 270', r"trials\[2\] .*; the trial mass must be said"),
    ("trial mass without radius", TRIAL, 'mass_plane = "left"\nmass = 12\nangle = 270', r"trials\[2\] .*mass and radius of the trial mass belong together"),
    ("trial mass twice", TRIAL, TRIAL + "\nunbalance = 9", r"trials\[2\] .*\.mass: given `12`; say unbalance, or mass and radius"),
    ("trial without place", TRIAL, 'mass_plane = "left"\nmass = 12\nradius = 80', r"trials\[2\] .*\.angle; where the trial mass is must be said"),
    ("trial without plane", TRIAL, "mass = 12\nradius = 80\nangle = 270", r"trials\[2\] .*\.mass: given `12`; a run with a trial mass says in which plane"),
    ("trial leaves nothing on", 'phase = 206 }\n', "phase = 206 }\nleft_on = true\n", r"trials\[1\] .*\.left_on: given `true`; a run without a trial mass leaves none on"),
    ("trial plane", 'mass_plane = "left"', 'mass_plane = "lft"', r"mass_plane: .*\n.*did you mean `left`"),
    ("trials of one name", 'name = "with a mass on the left"', 'name = "as it came"', r"trials\[2\] \"as it came\"\.name: .*every trial needs a name of its own"),
    ("known error", "left = { amount = 15, angle = 40 }", "left = { amount = 15 }", r'known_errors\[1\] "adapter"\.left\.angle; an angle must be said'),
    ("made after no spin", MADE, MADE.replace("after_spin = 1", "after_spin = 2"), r"cuts_made\[1\]\.after_spin: given `2`; the number of a spin is wanted, 1 = first; there is 1"),
    ("made in none", 'step = 1\ncounterweight = "A"', 'step = 1\ncounterweight = "Q"', r'cuts_made\[1\]\.counterweight: given `"Q"`; there is no such counterweight'),
    ("made without depth", MADE_CUT, MADE_CUT.replace("depth = 22.5", ""), r"cuts_made\[1\]\.depth; the depth must be said, for a rim hole"),
    ("made with a length", MADE_CUT, MADE_CUT + "\nlength = 3", r"cuts_made\[1\]\.length: given `3`; a rim hole has no length"),
    ("face hole both", MADE_CUT, MADE_CUT.replace("rim hole", "face hole") + "\nradius = 60\nthrough = true", r"cuts_made\[1\]; a face hole needs depth, or through = true, and not both"),
    ("face hole, no radius made", MADE_CUT, MADE_CUT.replace("rim hole", "face hole"), r"cuts_made\[1\]\.radius; the radius"),
    ("slug with depth", FIXED, FIXED + "\ndepth = 9", r"fixed_cuts\[1\]\.depth: given `9`; a slug has no depth"),
    ("slug without length", FIXED, FIXED + "\nthrough = false", r"fixed_cuts\[1\]\.length; a slug that is not through has a length"),
    ("plan of no spin", "[plan]                          # written by `spin`, `plan`, `sheet`: the plan as it was shown\nafter_spin = 1", "[plan]\nafter_spin = 3", r"plan\.after_spin: given `3`; .*\n.*delete \[plan\]"),
    ("steps of one number", "steps = []", 'steps = [{ number = 1, counterweight = "A", cut = "rim hole", angle = 1, diameter = 10, depth = 9 }, { number = 1, counterweight = "A", cut = "rim hole", angle = 9, diameter = 10, depth = 9 }]', r"plan\.steps\[2\]\.number: given `1`; every step has a number of its own"),
)  # fmt: skip


def faults_of(text: str, folder: Path) -> str:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaultsError) as caught:
        load_job(path)
    return str(caught.value)


@pytest.mark.parametrize(("old", "new", "expected"), [case[1:] for case in CASES], ids=[c[0] for c in CASES])
def test_a_fault_is_named_with_path_value_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, expected: str
) -> None:
    assert old in WHOLE, "the case no longer fits the job it changes"
    message = faults_of(WHOLE.replace(old, new, 1), tmp_path)
    assert re.search(expected, message), message


def test_the_unchanged_job_has_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert load_job(path).details.title == "Cross-plane V8, lighter pistons"


SHOP = """
[units]
length = "in"
[shop]
drills = [0]
colour = "blue"
[match]
tolerance = -1
"""
CRANKSHAFT = """
[crankshaft]
bearing_1_z = "0 g"
bearing_2_z = 520
[[throws]]
name = "1"
angle = "0"
z = 95
radius = 44.2
rods = 2
[[counterweights]]
name = "A"
z = 52
angle = 180
thickness = -1
outline = { shape = "fan", outer_radius = 88, half_angle = 58, inner_radius = 36 }
"""
JOB = """
[use]
shop = "my shop.toml"
crankshaft = "cranks/one.toml"
[machine]
angle_direction = "ccw"
viewed_from = "front"
angle_zero = "throw 2"
angle_marks = "heavy spot"
[planes]
left = 40
right = 480
[[spins]]
left = { amount = 1, angle = 2 }
right = { amount = 1, angle = "2" }
"""


def test_all_faults_of_three_files_come_in_one_report(tmp_path: Path) -> None:
    (tmp_path / "cranks").mkdir()
    (tmp_path / "my shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "cranks" / "one.toml").write_text(CRANKSHAFT, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    with pytest.raises(FileFaultsError, match="10 faults found") as caught:
        load_job(tmp_path / "job.toml")
    assert {(fault.file, fault.path) for fault in caught.value.faults} == {
        ("job.toml", "format"),
        ("job.toml", "machine.angle_zero"),
        ("job.toml", "spins[1].bobs"),
        ("job.toml", "spins[1].right.angle"),
        ("my shop.toml", "shop.drills[1]"),
        ("my shop.toml", "shop.colour"),
        ("my shop.toml", "match.tolerance"),
        ("cranks/one.toml", "crankshaft.bearing_1_z"),
        ("cranks/one.toml", 'throws[1] "1".angle'),
        ("cranks/one.toml", 'counterweights[1] "A".thickness'),
    }


def test_a_wall_of_faults_is_cut_short(tmp_path: Path) -> None:
    many = "".join(f'\n[[mounted]]\nname = "m{index}"\n' for index in range(100))
    message = faults_of(WHOLE + many, tmp_path)
    assert f"{GREATEST_SHOWN + 1} faults found" in message
    assert re.search(r"and \d+ more", message)


def test_names_of_faulty_tables_still_count_as_there(tmp_path: Path) -> None:
    # one slip in a counterweight must not make every cut in it a second fault
    message = faults_of(WHOLE.replace("thickness = 24.0", "thickness = 0"), tmp_path)
    assert message.startswith("1 fault found")
