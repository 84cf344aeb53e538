"""Broken scenes: one change of a good one each, with every word of what a person is told.

Lines and columns are counted by hand (pencil); the wording is a snapshot, read by a person.
"""

from __future__ import annotations

import pytest

from falloff.document import KnownNames, parse_document
from falloff.errors import DocumentError

KNOWN = KnownNames(
    materials={"planks", "wool", "dark hair", "black leather"},
    figures={"seated"},
    profiles={"open-face flood"},
)
GOOD = """\
falloff: 1
title: Test room
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: planks
  ceiling_surface: plaster
  wall_surface: plaster
openings:
  WINDOW: {wall: 4, along: 1 m, width: 1.4 m, sill: 0.9 m, height: 1.3 m}
sky: {type: overcast, outside: 12000 lx}
materials:
  plaster: {reflectance: 0.6}
props:
  BENCH: {shape: box, size: [1.8 m, 0.7 m, 0.9 m], at: [2 m, 2 m], surface: plaster}
subjects:
  MAKER: {figure: seated, at: [2 m, 3 m], facing: 270 deg, skin: 0.3, hair: dark hair, top: wool, trousers: wool}
fixtures:
  KEY: {light: soft box, size: [90 cm, 60 cm], depth: 45 cm, output: 6200 lm, colour: 5600 K, at: [1 m, 1 m, 2 m], aim: MAKER.face}
cameras:
  WIDE: {at: [4 m, 1 m, 1.5 m], aim: MAKER.face, lens: 24 mm}
setups:
  A: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg, dims: {KEY: 60 %}, key: cheek}
readings:
  cheek: {at: MAKER.cheek_key}
"""

# name: (what is replaced, by what, the faults told, each but for the file's name)
BROKEN: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "unknown key at the top": (
        "title:",
        "titel:",
        ("line 2, column 1 (titel): a scene has no key 'titel'\n    → did you mean 'title'?",),
    ),
    "unknown key in the room": (
        "height: 2.7 m",
        "hieght: 2.7 m",
        (
            "line 6, column 3 (room.hieght): the room has no key 'hieght'\n"
            "    → did you mean 'height'?",
        ),
    ),
    "unknown key near nothing": (
        "iso: 800,",
        "iso: 800, zzz: 1,",
        (
            "line 24, column 43 (setups.A.zzz): a setup has no key 'zzz'\n"
            "    → keys here are camera, stop, iso, fps, shutter, nd, balance, "
            "meter_constant, highlight, shadow, dims and key",
        ),
    ),
    "missing keys": (
        "at: [1 m, 1 m, 2 m], aim: MAKER.face}",
        "at: [1 m, 1 m, 2 m]}",
        (
            "line 20, column 3 (fixtures.KEY): a fixture (soft box) needs 'aim'\n"
            "    → add `aim: MAKER.face`",
        ),
    ),
    "missing unit": (
        "height: 2.7 m",
        "height: 2.7",
        (
            "line 6, column 11 (room.height): 2.7 has no unit (expected a length with its "
            "unit; found 2.7)\n"
            "    → write 2.7 m, 2.7 cm, 2.7 ft or 2.7 in",
        ),
    ),
    "wrong unit": (
        "height: 2.7 m",
        "height: 2.7 deg",
        (
            "line 6, column 11 (room.height): deg is no unit of length (expected a length "
            "with its unit; found 2.7 deg)\n"
            "    → write 2.7 m, 2.7 cm, 2.7 ft or 2.7 in",
        ),
    ),
    "decimal comma": (
        "height: 2.7 m",
        "height: 2,7 m",
        (
            "line 6, column 11 (room.height): this is no length (expected a length with "
            "its unit; found 2,7 m)\n"
            "    → write decimals with a point, and thousands without a comma",
        ),
    ),
    "not a number": (
        "height: 2.7 m",
        "height: .nan",
        (
            "line 6, column 11 (room.height): this number is not finite (expected a number "
            "with its unit; found .nan)",
        ),
    ),
    "infinite": (
        "reflectance: 0.6",
        "reflectance: .inf",
        (
            "line 14, column 26 (materials.plaster.reflectance): this number is not finite "
            "(expected a number from 0 to 1; found .inf)",
        ),
    ),
    "NaN corner": (
        "[5 m, 0 m]",
        "[.nan, 0 m]",
        (
            "line 5, column 24 (room.floor[1][0]): this number is not finite (expected a "
            "number with its unit; found .nan)",
        ),
    ),
    "corner written as nan m": (
        "[5 m, 0 m]",
        "[nan m, 0 m]",
        (
            "line 5, column 24 (room.floor[1][0]): this is no length (expected a length "
            "with its unit; found nan m)\n"
            "    → write 10 m, 10 cm, 10 ft or 10 in",
        ),
    ),
    "reflectance above one": (
        "reflectance: 0.6",
        "reflectance: 60",
        (
            "line 14, column 26 (materials.plaster.reflectance): out of range (expected a "
            "number from 0 to 1; found 60)",
        ),
    ),
    "reflectance in per cent": (
        "reflectance: 0.6",
        "reflectance: 60 %",
        (
            "line 14, column 26 (materials.plaster.reflectance): this is no pure number "
            "(expected a number from 0 to 1; found 60 %)\n"
            "    → write it without a unit, like 0.6",
        ),
    ),
    "negative size": (
        "depth: 45 cm",
        "depth: -45 cm",
        (
            "line 20, column 55 (fixtures.KEY.depth): out of range (expected more than 0 "
            "m, at most 10 km; found -45 cm)",
        ),
    ),
    "too far": (
        "[5 m, 0 m]",
        "[50000 m, 0 m]",
        (
            "line 5, column 24 (room.floor[1][0]): out of range (expected at most 10 km; "
            "found 50000 m)",
        ),
    ),
    "duplicate key": (
        "  height: 2.7 m\n",
        "  height: 2.7 m\n  height: 3 m\n",
        (
            "line 7, column 3 (room.height): 'height' is written twice\n"
            "    → keep one: the first is on line 6",
        ),
    ),
    "closed twice": (
        "[0 m, 4 m]]",
        "[0 m, 4 m], [0 m, 0 m]]",
        (
            "line 5, column 59 (room.floor[4]): corner 5 is corner 1 again: a room closes "
            "by itself\n"
            "    → take the last corner out",
        ),
    ),
    "repeated corner": (
        "[5 m, 4 m]",
        "[5 m, 4 m], [5 m, 4 m]",
        ("line 5, column 47 (room.floor[3]): corners 3 and 4 are the same\n    → take one out",),
    ),
    "two corners": (
        "[[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]",
        "[[0 m, 0 m], [5 m, 0 m]]",
        (
            "line 5, column 10 (room.floor): the room's corners are needed (expected at "
            "least 3 values; found 2)\n"
            "    → write it like [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]",
        ),
    ),
    "clockwise": (
        "[[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]",
        "[[0 m, 4 m], [5 m, 4 m], [5 m, 0 m], [0 m, 0 m]]",
        (
            "line 5, column 10 (room.floor): the corners run clockwise seen from above "
            "(expected counter-clockwise)\n"
            "    → reverse their order",
        ),
    ),
    "crossing walls": (
        "[5 m, 4 m], [0 m, 4 m]]",
        "[1 m, 4 m], [5 m, 3 m]]",
        (
            "line 5, column 47 (room.floor[3]): wall 2 crosses or touches wall 4\n"
            "    → give the corners in the order in which one walks round the room",
        ),
    ),
    "no area": (
        "[5 m, 4 m], [0 m, 4 m]]",
        "[7 m, 0 m]]",
        (
            "line 5, column 10 (room.floor): the room has no area: its corners lie on one "
            "line, or cross over\n"
            "    → check x and y of each corner",
        ),
    ),
    "wall folded back": (
        "[5 m, 4 m], [0 m, 4 m]]",
        "[5 m, 4 m], [5 m, 2 m]]",
        (
            "line 5, column 35 (room.floor[2]): wall 2 crosses or touches wall 3\n"
            "    → give the corners in the order in which one walks round the room",
        ),
    ),
    "corner on another wall": (
        "[5 m, 4 m], [0 m, 4 m]]",
        "[5 m, 4 m], [3 m, 0 m], [0 m, 4 m]]",
        (
            "line 5, column 35 (room.floor[2]): wall 1 crosses or touches wall 3\n"
            "    → give the corners in the order in which one walks round the room",
        ),
    ),
    "window too wide": (
        "width: 1.4 m",
        "width: 3.4 m",
        (
            "line 11, column 40 (openings.WINDOW.width): WINDOW runs past the end of wall "
            "4 (expected at most 4.00 m; found 4.40 m)",
        ),
    ),
    "window too high": (
        "sill: 0.9 m",
        "sill: 1.9 m",
        (
            "line 11, column 68 (openings.WINDOW.height): WINDOW reaches above the ceiling "
            "(expected at most 2.70 m; found 3.20 m)",
        ),
    ),
    "window in no wall": (
        "wall: 4,",
        "wall: 5,",
        (
            "line 11, column 18 (openings.WINDOW.wall): there is no wall 5 (expected 1 to "
            "4; found 5)",
        ),
    ),
    "windows overlap": (
        "sky:",
        "  DOOR: {wall: 4, along: 2 m, width: 1 m, sill: 0 m, height: 2 m}\nsky:",
        (
            "line 12, column 3 (openings.DOOR): DOOR overlaps WINDOW in wall 4\n"
            "    → move one of them, or make them one",
        ),
    ),
    "bars without glass": (
        "height: 1.3 m}",
        "height: 1.3 m, bars: [2, 3], bar_width: 50 cm}",
        (
            "line 11, column 81 (openings.WINDOW.bars): the bars of WINDOW and the frame "
            "round them leave no glass\n"
            "    → fewer panes, or a smaller bar_width",
        ),
    ),
    "no sky": (
        "sky: {type: overcast, outside: 12000 lx}\n",
        "",
        (
            "line 10, column 1 (openings): a scene with openings needs a 'sky'\n"
            "    → add `sky: {type: overcast, outside: 12000 lx}`",
        ),
    ),
    "unknown sky": (
        "type: overcast",
        "type: clear",
        ("line 12, column 13 (sky.type): unknown sky 'clear' (expected overcast)",),
    ),
    "surface of no wall": (
        "  wall_surface: plaster\n",
        "  wall_surface: plaster\n  wall_surfaces: {7: plaster}\n",
        (
            "line 10, column 22 (room.wall_surfaces[7]): there is no wall 7 (expected 1 to "
            "4; found 7)",
        ),
    ),
    "wall surface not by number": (
        "  wall_surface: plaster\n",
        "  wall_surface: plaster\n  wall_surfaces: {left: plaster}\n",
        (
            "line 10, column 19 (room.wall_surfaces.left): this is no whole number "
            "(expected a whole number from 1 to 10000; found left)",
        ),
    ),
    "unknown shape": (
        "shape: box",
        "shape: bocks",
        (
            "line 16, column 18 (props.BENCH.shape): unknown shape 'bocks' (expected box "
            "or cylinder)",
        ),
    ),
    "shape of other keys": (
        "shape: box",
        "shape: cylinder",
        (
            "line 16, column 3 (props.BENCH): a prop (cylinder) needs 'diameter'\n"
            "    → add `diameter: 0.4 m`",
            "line 16, column 3 (props.BENCH): a prop (cylinder) needs 'height'\n"
            "    → add `height: 0.9 m`",
            "line 16, column 28 (props.BENCH.size): a prop (cylinder) has no key 'size'\n"
            "    → keys here are shape, diameter, height, at, turn and surface",
        ),
    ),
    "no shape": (
        "shape: box, ",
        "",
        (
            "line 16, column 3 (props.BENCH): a prop needs 'shape' (expected box or "
            "cylinder)\n"
            "    → add `shape: box`",
        ),
    ),
    "unknown light": (
        "light: soft box",
        "light: softbox",
        (
            "line 20, column 16 (fixtures.KEY.light): unknown light 'softbox' (expected "
            "soft box or open face)\n"
            "    → did you mean 'soft box'?",
        ),
    ),
    "unknown name": (
        "aim: MAKER.face}\ncameras",
        "aim: MAKR.face}\ncameras",
        (
            "line 20, column 121 (fixtures.KEY.aim): nothing is named 'MAKR'\n"
            "    → did you mean 'MAKER'?",
        ),
    ),
    "unknown place of a subject": (
        "aim: MAKER.face}\ncameras",
        "aim: MAKER.fase}\ncameras",
        (
            "line 20, column 121 (fixtures.KEY.aim): MAKER has no place 'fase'\n"
            "    → did you mean 'face'?",
        ),
    ),
    "place of a prop": (
        "aim: MAKER.face}\ncameras",
        "aim: BENCH.top}\ncameras",
        (
            "line 20, column 121 (fixtures.KEY.aim): BENCH has no places such as 'top': "
            "only subjects do\n"
            "    → write BENCH alone, or a point",
        ),
    ),
    "aimed at itself": (
        "aim: MAKER.face}\ncameras",
        "aim: KEY}\ncameras",
        (
            "line 20, column 121 (fixtures.KEY.aim): KEY refers to itself\n"
            "    → name something else, or write a point or an angle",
        ),
    ),
    "aim without height": (
        "aim: MAKER.face}\ncameras",
        "aim: [1 m, 2 m]}\ncameras",
        (
            "line 20, column 121 (fixtures.KEY.aim): x, y and z are needed (expected 3 "
            "values; found 2)\n"
            "    → write it like [1.2 m, 3 m, 1.7 m]",
        ),
    ),
    "name in another case": (
        "camera: WIDE",
        "camera: Wide",
        (
            "line 24, column 15 (setups.A.camera): there is no camera 'Wide'\n"
            "    → did you mean 'WIDE'?",
        ),
    ),
    "unknown material": (
        "surface: plaster}",
        "surface: plastre}",
        (
            "line 16, column 77 (props.BENCH.surface): unknown material 'plastre'\n"
            "    → did you mean 'plaster'?",
        ),
    ),
    "dim of a window": (
        "dims: {KEY: 60 %}",
        "dims: {WINDOW: 60 %}",
        (
            "line 24, column 68 (setups.A.dims.WINDOW): 'WINDOW' is an opening: daylight "
            "has no dim\n"
            "    → choose from KEY",
        ),
    ),
    "dim of nothing": (
        "dims: {KEY: 60 %}",
        "dims: {KY: 60 %}",
        (
            "line 24, column 68 (setups.A.dims.KY): there is no light 'KY'\n"
            "    → did you mean 'KEY'?",
        ),
    ),
    "dim without unit": (
        "dims: {KEY: 60 %}",
        "dims: {KEY: 60}",
        (
            "line 24, column 73 (setups.A.dims.KEY): 60 has no unit (expected a percentage "
            "with its unit; found 60)\n"
            "    → write 60 %",
        ),
    ),
    "dim above all": (
        "dims: {KEY: 60 %}",
        "dims: {KEY: 160 %}",
        (
            "line 24, column 73 (setups.A.dims.KEY): out of range (expected 0 % to 100 %; "
            "found 160 %)",
        ),
    ),
    "unknown key reading": (
        "key: cheek}",
        "key: chek}",
        (
            "line 24, column 85 (setups.A.key): there is no reading 'chek'\n"
            "    → did you mean 'cheek'?",
        ),
    ),
    "bare stop": (
        "stop: T2.8",
        "stop: 2.8",
        (
            "line 24, column 27 (setups.A.stop): this is no stop (expected a T-stop or an "
            "f-stop; found 2.8)\n"
            "    → write T2.8 or f/2.8",
        ),
    ),
    "bare shutter": (
        "shutter: 180 deg",
        "shutter: 180",
        (
            "line 24, column 52 (setups.A.shutter): 180 has no unit (expected an angle or "
            "a time with its unit; found 180)\n"
            "    → write 180 deg or 1/48 s",
        ),
    ),
    "long shutter": (
        "shutter: 180 deg",
        "shutter: 1/20 s",
        (
            "line 24, column 52 (setups.A.shutter): the shutter stays open longer than a "
            "frame at 24 fps (expected at most 1/24 s; found 1/20 s)",
        ),
    ),
    "bare ND": (
        "iso: 800,",
        "iso: 800, nd: 0.9,",
        (
            "line 24, column 47 (setups.A.nd): this could be a density, a factor or stops "
            "(found 0.9)\n"
            "    → write ND 0.9 (density), 3 stops or ND8 (factor)",
        ),
    ),
    "ambiguous ND": (
        "iso: 800,",
        "iso: 800, nd: ND3,",
        (
            "line 24, column 47 (setups.A.nd): this could be a density, a factor or stops "
            "(found ND3)\n"
            "    → write ND 0.9 (density), 3 stops or ND8 (factor)",
        ),
    ),
    "iso in words": (
        "iso: 800",
        "iso: fast",
        (
            "line 24, column 38 (setups.A.iso): this is no pure number (expected a number "
            "above 0; found fast)\n"
            "    → write it without a unit, like 800",
        ),
    ),
    "one name twice": (
        "cameras:\n",
        "practicals:\n"
        "  KEY: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [1 "
        "m, 3 m]}\n"
        "cameras:\n"
        "",
        (
            "line 22, column 3 (practicals.KEY): 'KEY' names two things (found also in "
            "fixtures)\n"
            "    → rename one of them",
        ),
    ),
    "name with a full stop": (
        "  BENCH:",
        "  BENCH.top:",
        (
            "line 16, column 3 (props.BENCH.top): 'BENCH.top' cannot be a name\n"
            "    → a name has no full stop, and is not down, camera or square",
        ),
    ),
    "name that means something": (
        "  BENCH:",
        "  down:",
        (
            "line 16, column 3 (props.down): 'down' cannot be a name\n"
            "    → a name has no full stop, and is not down, camera or square",
        ),
    ),
    "empty name": (
        "  BENCH:",
        "  '':",
        ("line 16, column 3 (props.): a name is empty\n    → give it a name",),
    ),
    "place with two keys": (
        "at: [2 m, 2 m]",
        "at: {from: MAKER, on: BENCH}",
        (
            "line 16, column 52 (props.BENCH.at): a place has exactly one of the keys "
            "from, on and wall (found from, on)\n"
            "    → write [1.2 m, 3 m, 1.7 m], or {from: NAME, distance: 1.5 m, clock: 4, "
            "height: 1.7 m}",
        ),
    ),
    "place as text": (
        "at: [2 m, 2 m]",
        "at: here",
        (
            "line 16, column 56 (props.BENCH.at): this is no place (expected a place; "
            "found here)\n"
            "    → write [1.2 m, 3 m, 1.7 m], or {from: NAME, distance: 1.5 m, clock: 4, "
            "height: 1.7 m}",
        ),
    ),
    "place of one number": (
        "at: [2 m, 2 m]",
        "at: [2 m]",
        (
            "line 16, column 56 (props.BENCH.at): x, y and perhaps z are needed (expected "
            "at least 2 values; found 1)\n"
            "    → write it like [1.2 m, 3 m, 1.7 m]",
        ),
    ),
    "no such clock hour": (
        "at: [2 m, 2 m]",
        "at: {from: MAKER, distance: 1 m, clock: 13}",
        (
            "line 16, column 92 (props.BENCH.at.clock): this is no clock hour (expected 1 "
            "to 12, halves and quarters as 4:30 and 4:15; found 13)\n"
            "    → write clock: 4 or clock: 4:30",
        ),
    ),
    "clock of too many minutes": (
        "at: [2 m, 2 m]",
        "at: {from: MAKER, distance: 1 m, clock: 4:75}",
        (
            "line 16, column 92 (props.BENCH.at.clock): this is no clock hour (expected 1 "
            "to 12, halves and quarters as 4:30 and 4:15; found 4:75)\n"
            "    → write clock: 4 or clock: 4:30",
        ),
    ),
    "on something that is no prop": (
        "at: [2 m, 2 m]",
        "at: {on: KEY}",
        (
            "line 16, column 61 (props.BENCH.at.on): there is no prop 'KEY'\n"
            "    → choose from BENCH",
        ),
    ),
    "on itself": (
        "at: [2 m, 2 m]",
        "at: {on: BENCH}",
        (
            "line 16, column 61 (props.BENCH.at.on): BENCH refers to itself\n"
            "    → name another prop, or a point",
        ),
    ),
    "past the wall": (
        "at: [2 m, 2 m]",
        "at: {wall: 2, along: 4.5 m, height: 3 m}",
        (
            "line 16, column 73 (props.BENCH.at.along): past the end of wall 2 (expected "
            "at most 4.00 m; found 4.50 m)",
            "line 16, column 88 (props.BENCH.at.height): above the ceiling (expected at "
            "most 2.70 m; found 3.00 m)",
        ),
    ),
    "places in a circle": (
        "at: [2 m, 3 m], facing: 270 deg",
        "at: {from: WIDE, distance: 2 m, clock: 6}, facing: WIDE",
        (
            "line 18, column 27 (subjects.MAKER.at): the place of MAKER hangs on itself by "
            "way of WIDE\n"
            "    → give one of them by coordinates, or facing as an angle",
        ),
    ),
    "facing without unit": (
        "facing: 270 deg",
        "facing: 270",
        (
            "line 18, column 51 (subjects.MAKER.facing): 270 has no unit (expected an "
            "angle with its unit; found 270)\n"
            "    → write 270 deg or 270 rad",
        ),
    ),
    "facing nothing": (
        "facing: 270 deg",
        "facing: NOBODY",
        (
            "line 18, column 51 (subjects.MAKER.facing): nothing is named 'NOBODY'\n"
            "    → choose from WINDOW, BENCH, MAKER, KEY and WIDE",
        ),
    ),
    "reading in the middle of something": (
        "at: MAKER.cheek_key",
        "at: MAKER",
        (
            "line 26, column 15 (readings.cheek.at): a reading stands on a surface or free "
            "in the room, not in the middle of something (found MAKER)\n"
            "    → write at: MAKER.face for a person, at: {on: MAKER} for a prop, or a "
            "point",
        ),
    ),
    "reading without a direction": (
        "at: MAKER.cheek_key",
        "at: [1 m, 1 m, 1 m]",
        (
            "line 26, column 3 (readings.cheek): a flat receptor in free space must face "
            "somewhere\n"
            "    → add `normal: [0, -1, 0]` or `aim: camera`",
        ),
    ),
    "reading with both": (
        "at: MAKER.cheek_key",
        "at: [1 m, 1 m, 1 m], normal: [0, 0, 1], aim: camera",
        (
            "line 26, column 3 (readings.cheek): a reading has a normal or an aim, not "
            "both\n"
            "    → take one away",
        ),
    ),
    "reading square to nothing": (
        "at: MAKER.cheek_key",
        "at: [1 m, 1 m, 1 m], aim: square",
        (
            "line 26, column 3 (readings.cheek): there is no surface here to be square to\n"
            "    → add `normal: [0, -1, 0]`, or name a subject's place, a wall or the top "
            "of a prop",
        ),
    ),
    "normal of no length": (
        "at: MAKER.cheek_key",
        "at: [1 m, 1 m, 1 m], normal: [0, 0, 0]",
        (
            "line 26, column 3 (readings.cheek): a normal of no length points nowhere "
            "(found [0, 0, 0])",
        ),
    ),
    "spot with a normal": (
        "at: MAKER.cheek_key",
        "at: [1 m, 1 m, 1 m], normal: [0, 0, 1], instrument: spot",
        (
            "line 26, column 3 (readings.cheek): a spot reading has no normal\n"
            "    → write aim: camera",
        ),
    ),
    "unknown instrument": (
        "at: MAKER.cheek_key",
        "at: MAKER.face, instrument: doom",
        (
            "line 26, column 39 (readings.cheek.instrument): unknown instrument 'doom' "
            "(expected flat or dome or spot)\n"
            "    → did you mean 'dome'?",
        ),
    ),
    "unknown gate": (
        "lens: 24 mm",
        "lens: 24 mm, gate: super 53",
        (
            "line 22, column 69 (cameras.WIDE.gate): unknown gate 'super 53' (expected "
            "super 35 or full frame)\n"
            "    → did you mean 'super 35'?",
        ),
    ),
    "aspect": (
        "lens: 24 mm",
        "lens: 24 mm, aspect: wide",
        (
            "line 22, column 71 (cameras.WIDE.aspect): this is no aspect (expected width "
            "to height; found wide)\n"
            "    → write 16:9 or 1.85",
        ),
    ),
    "stand in words": (
        "depth: 45 cm",
        "depth: 45 cm, stand: perhaps",
        (
            "line 20, column 69 (fixtures.KEY.stand): this is neither true nor false "
            "(expected true or false; found perhaps)",
        ),
    ),
    "profile angles out of order": (
        "readings:",
        "profiles:\n  P: {angles: [0 deg, 40 deg, 30 deg], relative: [1, 1, 0]}\nreadings:",
        (
            "line 26, column 3 (profiles.P): angles must ascend from 0 deg\n"
            "    → sort them, each written once",
        ),
    ),
    "profile of unequal lists": (
        "readings:",
        "profiles:\n  P: {angles: [0 deg, 40 deg], relative: [1, 1, 0]}\nreadings:",
        (
            "line 26, column 3 (profiles.P): each angle needs one relative intensity "
            "(found 2 angles and 3 intensities)",
        ),
    ),
    "profile past a right angle": (
        "readings:",
        "profiles:\n  P: {angles: [0 deg, 100 deg], relative: [1, 0]}\nreadings:",
        (
            "line 26, column 3 (profiles.P): a beam ends at most 90 deg from its axis "
            "(expected up to 90 deg)",
        ),
    ),
    "profile without light": (
        "readings:",
        "profiles:\n  P: {angles: [0 deg, 40 deg], relative: [0, 0]}\nreadings:",
        ("line 26, column 3 (profiles.P): a beam needs light at one angle at least (found all 0)",),
    ),
    "black tint": (
        "reflectance: 0.6",
        "reflectance: 0.6, tint: [0, 0, 0]",
        (
            "line 14, column 37 (materials.plaster.tint): a tint needs at least one "
            "channel above 0 (found [0, 0, 0])",
        ),
    ),
    "newer format": (
        "falloff: 1",
        "falloff: 2",
        (
            "line 1, column 10 (falloff): unknown format (expected 1; found 2)\n"
            "    → read it with a Falloff that knows this format",
        ),
    ),
    "format in words": (
        "falloff: 1",
        "falloff: one",
        (
            "line 1, column 10 (falloff): this is no whole number (expected a whole number "
            "from 1 to 10000; found one)",
        ),
    ),
    "setups without a camera": (
        "cameras:\n  WIDE: {at: [4 m, 1 m, 1.5 m], aim: MAKER.face, lens: 24 mm}\n",
        "",
        (
            "line 21, column 1 (setups): a setup needs a camera\n"
            "    → add `cameras:` with one camera",
        ),
    ),
    "section as a list": (
        "materials:\n  plaster: {reflectance: 0.6}\n",
        "materials: [plaster]\n",
        (
            "line 13, column 12 (materials): keys are needed here (expected a group of "
            "keys; found a list)\n"
            "    → write keys below it, each on a line of its own and indented",
        ),
    ),
    "nothing after a key": (
        "sky: {type: overcast, outside: 12000 lx}",
        "sky:",
        (
            "line 12, column 1 (sky): keys are needed here (expected a group of keys; "
            "found nothing)\n"
            "    → write keys below it, each on a line of its own and indented",
        ),
    ),
    "shared value": (
        "height: 2.7 m",
        "height: &h 2.7 m",
        (
            "line 6, column 11: a value shared by an anchor (&) or alias (*)\n"
            "    → write the value out in each place",
        ),
    ),
    "marked value": (
        "height: 2.7 m",
        "height: !!python/object:os.system 2.7 m",
        (
            "line 6, column 11: a value marked tag:yaml.org,2002:python/object:os.system\n"
            "    → take the mark (!) away: plain values are enough",
        ),
    ),
    "unclosed bracket": (
        "[0 m, 4 m]]",
        "[0 m, 4 m]",
        (
            "line 6, column 3: this is not YAML: expected ',' or ']', but got '<scalar>'\n"
            "    → close the bracket, or put a comma between the parts",
        ),
    ),
    "colon in a text": (
        "title: Test room",
        "title: Test: room",
        (
            "line 2, column 12: this is not YAML: mapping values are not allowed here\n"
            "    → start a new line for each key, or put quotes round a text that holds a "
            "colon",
        ),
    ),
    "tab": (
        "  height: 2.7 m",
        "	height: 2.7 m",
        (
            "line 6, column 1: this is not YAML: found character '\\t' that cannot start "
            "any token\n"
            "    → indent with spaces, and put quotes round a text that begins so",
        ),
    ),
    "two documents": (
        "sky:",
        "---\nsky:",
        (
            "line 12, column 1: this is not YAML: but found another document\n"
            "    → keep one scene to a file: take out the line that is only ---",
        ),
    ),
}


def test_the_good_scene_is_good() -> None:
    parse_document(GOOD, "room.scene.yaml", known=KNOWN)


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_scene_is_told_in_these_words(name: str) -> None:
    old, new, told = BROKEN[name]
    assert GOOD.count(old) == 1
    with pytest.raises(DocumentError) as caught:
        parse_document(GOOD.replace(old, new), "folder/room.scene.yaml", known=KNOWN)
    assert str(caught.value) == "\n".join(f"room.scene.yaml, {one}" for one in told)


def test_all_faults_are_told_at_once_in_the_order_of_the_text() -> None:
    text = GOOD
    for name in ("unknown key in the room", "unknown name", "bare ND", "dim above all"):
        old, new, _ = BROKEN[name]
        text = text.replace(old, new)
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml", known=KNOWN)
    # pencil: one fault from each of the four changes, by line
    assert [(fault.line, fault.what) for fault in caught.value.faults] == [
        (6, "the room has no key 'hieght'"),
        (20, "nothing is named 'MAKR'"),
        (24, "this could be a density, a factor or stops"),
        (24, "out of range"),
    ]


def test_a_fault_in_one_key_hides_none_in_the_next() -> None:
    text = GOOD.replace("depth: 45 cm", "depth: 45").replace("aim: MAKER.face}", "aim: MAKR}")
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml")
    # pencil: the depth has lost its unit, and the aim is at nobody
    assert [fault.what for fault in caught.value.faults] == [
        "45 has no unit",
        "nothing is named 'MAKR'",
    ]


def test_names_are_not_checked_against_a_catalogue_that_is_not_given() -> None:
    document = parse_document(GOOD.replace("planks", "marble"), "room.scene.yaml")
    assert document.room.floor_surface == "marble"
