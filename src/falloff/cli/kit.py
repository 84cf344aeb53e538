"""falloff kit: list, show, import, compare and choose what the crew may bring."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

kit_app = typer.Typer(
    name="kit",
    help="List, show, import, compare and choose what the crew may bring.",
    no_args_is_help=True,
)

Own = Annotated[
    Path | None, typer.Option("--own", help="One's own kit, NAME.kit.toml; it comes first.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Units = Annotated[str, typer.Option("--units", help="metric or imperial.")]


@kit_app.command("list")
def list_(
    kind: Annotated[
        str,
        typer.Argument(
            metavar="[KIND]",
            help="fixture, modifier, gel ..., surface; all but surfaces if left out.",
        ),
    ] = "",
    search: Annotated[str, typer.Option("--search", help="Words that its name must hold.")] = "",
    own: Own = None,
    json: Json = False,
) -> None:
    """List the kit by kind, or by words of its names; surfaces that a scene may name too."""
    from falloff.cli import kit_text
    from falloff.session.kit import run_kit_list

    result = run_kit_list(kind, search=search, own=own)
    kit_text.tell(result, kit_text.print_list, json=json)


@kit_app.command()
def show(
    name: Annotated[str, typer.Argument(help="Its name, or another word for it.")],
    modifier: Annotated[
        list[str] | None,
        typer.Option("--with", help="A modifier; again for the next, from the head outward."),
    ] = None,
    units: Units = "metric",
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the drawn sheet, SVG and PNG.")
    ] = None,
    own: Own = None,
    json: Json = False,
) -> None:
    """Show all that is known of an item; of a fixture, a sheet to pin to its case."""
    from falloff.cli import kit_text
    from falloff.session.kit import run_kit_show

    system = kit_text.system_of(units)
    given = tuple(modifier or ())
    result = run_kit_show(name, modifiers=given, units=system, own=own, out=out)
    kit_text.tell(result, lambda shown: kit_text.print_shown(shown, system), json=json)


@kit_app.command("import")
def import_(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", help="A photometric file: ANSI/IES LM-63 or EULUMDAT."),
    ] = None,
    name: Annotated[str, typer.Option("--as", help="What to call it.")] = "",
    own: Annotated[
        Path | None,
        typer.Option("--own", help="Append it to this kit, NAME.kit.toml; made if not there."),
    ] = None,
    lux: Annotated[
        list[str] | None,
        typer.Option("--lux", help="Of a data sheet: '3200 lx at 1 m'; may be given again."),
    ] = None,
    candela: Annotated[str, typer.Option("--candela", help="Of a data sheet: '24000 cd'.")] = "",
    beam: Annotated[str, typer.Option("--beam", help="Full angle at half: '45 deg'.")] = "",
    field: Annotated[str, typer.Option("--field", help="Full angle at a tenth: '70 deg'.")] = "",
    lumens: Annotated[str, typer.Option("--lumens", help="All that leaves it: '12000 lm'.")] = "",
    size: Annotated[
        str, typer.Option("--size", help="Its front: '60 x 30 cm', or '20 cm' wide.")
    ] = "",
    power: Annotated[str, typer.Option("--power", help="What it draws: '300 W'.")] = "",
    kelvin: Annotated[str, typer.Option("--kelvin", help="Its colour: '5600 K'.")] = "",
    family: Annotated[str, typer.Option("--family", help="tungsten, 'LED white' ...")] = "",
    json: Json = False,
) -> None:
    """Read a photometric file or a data sheet; tell what was forgiven and how well it fits."""
    from falloff.cli import kit_text
    from falloff.session.kit import SheetOptions, run_kit_import

    sheet = SheetOptions(
        lux=tuple(lux or ()),
        candela=candela,
        beam=beam,
        field=field,
        lumens=lumens,
        size=size,
        power=power,
        kelvin=kelvin,
        family=family,
    )
    result = run_kit_import(file, sheet=sheet, name=name, own=own)
    kit_text.tell(result, kit_text.print_imported, json=json)


@kit_app.command()
def compare(
    first: Annotated[
        str, typer.Argument(help="NAME, 'NAME: BEAM', 'NAME + MODIFIER', or a photometric file.")
    ],
    second: Annotated[str, typer.Argument(help="The same of the other.")],
    at: Annotated[str, typer.Option("--at", help="Where: '3 m, 20 deg off'.")] = "3 m",
    units: Units = "metric",
    own: Own = None,
    json: Json = False,
) -> None:
    """Compare two lights at the same spot, each at full and alone, and tell how surely."""
    from falloff.cli import kit_text
    from falloff.session.kit import run_kit_compare

    system = kit_text.system_of(units)
    result = run_kit_compare(first, second, at=at, own=own)
    kit_text.tell(result, lambda compared: kit_text.print_compared(compared, system), json=json)


@kit_app.command()
def choose(
    scene: Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml, with targets.")],
    own: Annotated[
        Path | None,
        typer.Option("--own", help="One's own kit, in place of the one that the scene names."),
    ] = None,
    kit_only: Annotated[
        bool, typer.Option("--kit-only", help="Nothing but what the kit file lists.")
    ] = False,
    reserve: Annotated[
        str, typer.Option("--reserve", help="In hand at every dim: '1/2 stop'.")
    ] = "1 stop",
    out: Annotated[
        Path | None, typer.Option("--out", help="Write the scene with the package to this file.")
    ] = None,
    json: Json = False,
) -> None:
    """Choose the smallest package that brings a scene's targets in, and tell the next cheaper."""
    from falloff.cli import show, show_package
    from falloff.session import ChooseAsked, run_kit_choose
    from falloff.units import parse_stops

    asked = ChooseAsked(own, kit_only, parse_stops(reserve), out)
    with show.progress(quiet=json) as progress:
        result = run_kit_choose(scene, asked, progress=progress)
    if json:
        show.print_json(show_package.choice_document(result))
    else:
        show_package.print_choice(result)
