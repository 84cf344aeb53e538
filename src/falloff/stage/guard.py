"""What cannot be: things inside walls or outside the room, faults told all at once."""

from __future__ import annotations

from shapely import Point, Polygon

from falloff.errors import Fault, GeometryError
from falloff.kit import find_figure
from falloff.stage.places import Placer

_CLEAR_M = {"subjects": 0.15, "cameras": 0.02, "fixtures": 0.0, "practicals": 0.0}


def refuse_impossible(placer: Placer) -> None:
    """Raise one GeometryError with a fault for everything that stands where nothing can."""
    document = placer.document
    outline = Polygon([(x.si, y.si) for x, y in document.room.floor])
    faults: list[Fault] = []
    for kind, clear in _CLEAR_M.items():
        for name in getattr(document, kind):
            point = placer.origin(name)
            spot = Point(point[0], point[1])
            inside = outline.contains(spot)
            gap = outline.exterior.distance(spot)
            if not inside or gap < clear:
                what = f"{name} stands in a wall" if inside else f"{name} stands outside the room"
                faults.append(
                    _fault(
                        placer,
                        (kind, name, "at"),
                        what,
                        f"a place inside the floor's outline, {clear:g} m clear of the walls",
                        f"({point[0]:.2f} m, {point[1]:.2f} m)",
                        f"move {name} into the room, or widen the room's floor",
                    )
                )
            top = point[2]
            if kind == "subjects":
                top += float(find_figure(document.subjects[name].figure).vertices[:, 2].max())
            if not point[2] >= -1e-6 or top > document.room.height.si:
                faults.append(
                    _fault(
                        placer,
                        (kind, name, "at"),
                        f"{name} does not fit between floor and ceiling",
                        f"a height between 0 and {document.room.height.text}",
                        f"{top:.2f} m",
                        "lower it, or raise the ceiling",
                    )
                )
    if faults:
        raise GeometryError(*faults)


def _fault(
    placer: Placer, key_path: tuple[str, ...], what: str, expected: str, found: str, fix: str
) -> Fault:
    line, column = placer.document.position_of(key_path)
    where = f"{placer.document.file_name}, line {line}, {'.'.join(key_path)}"
    return Fault(
        what, where=where, expected=expected, found=found, fix=fix, line=line, column=column
    )
