"""kit show: all that is known of one item; of a fixture a sheet to pin to its case."""

from __future__ import annotations

import functools
from pathlib import Path

import msgspec

from falloff.camera.atomic_write import write_whole
from falloff.drawing import draw_sheet, svg_of, write_png
from falloff.errors import DocumentError, Fault, OutputError
from falloff.kit import Fixture, Modifier, Opening, describe
from falloff.kit.catalogue import kind_of, list_items, modifier_cost
from falloff.kit.catalogue.sheet import IMPERIAL_M, METRIC_M
from falloff.session.kit.figures import figures_of
from falloff.session.kit.find import Shelf, find_light, find_modifier, find_thing, open_shelf
from falloff.session.kit.known_light import KnownLight, Spot, looks_m
from falloff.session.kit.page import curves_of, sheet_content
from falloff.session.kit.shown import KitShown, ModifierFit, SoftAt
from falloff.units import System

_ON_STANDS = ("stand", "ceiling")
_HEADS = ("spigot", "hung", "tube clip")  # mounts of what one puts before a frame


def run_kit_show(
    name: str,
    *,
    modifiers: tuple[str, ...] = (),
    units: System = "metric",
    own: Path | None = None,
    out: Path | None = None,
) -> KitShown:
    """All that is known of an item by its name; of a fixture as it is used with modifiers.

    out: a folder to write the drawn sheet into, which is made if it is not there. Raises
    GeometryError on unknown names, DocumentError where an item has no sheet, OutputError where the
    folder cannot be written.
    """
    shelf = open_shelf(own)
    item, owned = find_thing(name, shelf)
    if not isinstance(item, Fixture):
        if modifiers or out:
            raise _no_sheet(name, kind_of(item))
        return KitShown(
            name=owned.name if owned else item.name, kind=kind_of(item), item=item,
            own=owned is not None, count=owned.count if owned else None,
            figures=figures_of(item, units), sheet=None, opening=None, softness=(), fits=(),
            findings=owned.findings if owned else (),
        )  # fmt: skip
    given = tuple(find_modifier(one, shelf) for one in modifiers)
    shown, light = _fixture_shown(name, item, given, shelf, units)
    return shown if out is None else _drawn(shown, light, units, out)


def _fixture_shown(
    name: str, item: Fixture, modifiers: tuple[Modifier, ...], shelf: Shelf, units: System
) -> tuple[KitShown, KnownLight]:
    light = find_light(" + ".join([name, *(one.name for one in modifiers)]), shelf)
    _, owned = find_thing(name, shelf)
    sheet = describe(item, *modifiers)
    distances = METRIC_M if units == "metric" else IMPERIAL_M
    findings = dict.fromkeys((*light.findings, *sheet.findings))
    shown = KitShown(
        name=light.name,
        kind="fixture",
        item=item,
        own=owned is not None,
        count=owned.count if owned else None,
        figures=figures_of(item, units),
        sheet=sheet,
        opening=light.opening,
        softness=tuple(_soft_at(light.opening, float(one)) for one in distances),
        fits=() if modifiers else fitting(item, shelf),
        findings=tuple(findings),
    )
    return shown, light


def fitting(fixture: Fixture, shelf: Shelf) -> tuple[ModifierFit, ...]:
    """Every modifier that fits a fixture, one's own first, and what each costs its first beam.

    It fits on a mount that the fixture takes; frames and boards stand before any head; umbrellas
    go with open faces (common practice, from memory).
    """
    own = [one.item for one in (shelf.kit.items if shelf.kit else ())]
    known = {one.name: one for one in (*own, *list_items("modifier")) if isinstance(one, Modifier)}
    return tuple(
        _fit(fixture, one, front.name if len(one.beams) > 1 else "")
        for one in known.values()
        if fits_on(fixture, one)
        for front in one.beams
    )


def fits_on(fixture: Fixture, modifier: Modifier) -> bool:
    """Whether a modifier goes on or before a fixture, by mount and power."""
    if modifier.fits_power_w is not None and fixture.power_w > modifier.fits_power_w:
        return False
    if modifier.mount in _ON_STANDS:
        return fixture.mount.startswith(_HEADS)
    if modifier.mount == "umbrella shaft":
        return fixture.form == "open face"
    return modifier.mount in fixture.accepts or modifier.mount == fixture.mount != "none"


def _fit(fixture: Fixture, modifier: Modifier, front: str) -> ModifierFit:
    cost = modifier_cost(fixture, modifier, front=front)
    opening = modifier.opening or (None if modifier.mount == "ceiling" else fixture.opening)
    return ModifierFit(
        name=modifier.name,
        front=front,
        form=modifier.form,
        against=cost.against.name,
        beam=cost.front,
        absorbed_stops=cost.absorbed_stops,
        spread_stops=cost.spread_stops,
        total_stops=cost.total_stops,
        expected_spread_stops=cost.expected_spread_stops,
        width_m=opening.width_m if opening else None,
        height_m=opening.height_m if opening else None,
        provenance=cost.provenance,
    )


def _soft_at(opening: Opening, distance_m: float) -> SoftAt:
    from falloff.kit.catalogue import angular_size_rad, edge_blur_m

    wide = looks_m(opening, Spot(distance_m=distance_m))
    return SoftAt(
        distance_m=distance_m,
        angular_size_rad=angular_size_rad(wide, distance_m),
        edge_per_m=edge_blur_m(wide, distance_m, gap_m=1.0),
    )


def _drawn(shown: KitShown, light: KnownLight, units: System, out: Path) -> KitShown:
    """The sheet as files in a folder, each whole or not at all."""
    drawing = draw_sheet(sheet_content(shown, curves_of(light, shown), units))
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            Fault(what="the folder cannot be made", where=str(out),
                  found=error.strerror or str(error), fix="give another with --out")
        ) from error  # fmt: skip
    stem = "".join(one if one.isalnum() or one in "-." else "-" for one in shown.name.lower())
    stem = "-".join(part for part in stem.split("-") if part).replace(".-", "-")[:100].strip(".")
    svg = out / f"{stem}.svg"
    write_whole(svg, lambda part: _write_text(part, svg_of(drawing)))
    png = out / f"{stem}.png"
    write_whole(png, functools.partial(write_png, drawing))
    return msgspec.structs.replace(shown, files=(str(svg), str(png)))


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _no_sheet(name: str, kind: str) -> DocumentError:
    return DocumentError(
        Fault(
            what=f"{name!r} is a {kind}: it has no sheet",
            expected="a fixture, with --with and --out",
            fix="leave --with and --out away, or name the fixture first",
        )
    )
