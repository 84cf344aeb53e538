"""falloff balance and falloff match: dims from what is wanted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from falloff.errors import FalloffError, Fault

SceneFile = Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
OutScene = Annotated[
    Path | None, typer.Option("--out", help="Write the scene with the answer to this file.")
]
Write = Annotated[bool, typer.Option("--write", help="Write the answer into the scene file.")]


def balance(
    scene: SceneFile,
    setup: Annotated[
        list[str] | None, typer.Option("--setup", help="A setup; again for more; all if left out.")
    ] = None,
    target: Annotated[
        list[str] | None, typer.Option("--target", help="Only this target; again for more.")
    ] = None,
    each: Annotated[
        bool,
        typer.Option("--each", help="Dims of its own for each setup."),
    ] = False,
    still: Annotated[
        Path | None,
        typer.Option("--still", help="A picture of your own; its places become the targets."),
    ] = None,
    place: Annotated[
        list[str] | None,
        typer.Option("--place", help="'key cheek: 0.42, 0.31': how far across and down; again."),
    ] = None,
    curve: Annotated[
        str | None, typer.Option("--curve", help="The still's: srgb, bt709, bt1886, pq, hlg ...")
    ] = None,
    alike: Annotated[
        list[str] | None,
        typer.Option("--alike", help="A reading whose surface in the still is like the scene's."),
    ] = None,
    graded: Annotated[
        bool | None, typer.Option("--graded/--ungraded", help="Whether a look was put on it.")
    ] = None,
    out: OutScene = None,
    write: Write = False,
    json: Json = False,
) -> None:
    """Find the dims that bring every target in, or say by how much not, what binds, what breaks."""
    from falloff.cli import show, show_balance
    from falloff.session import BalanceAsked, FromStill, place_of, run_balance

    own = None
    alone = {"--place": place, "--curve": curve, "--alike": alike, "--graded": graded}
    if still is None and any(one is not None for one in alone.values()):
        given = ", ".join(name for name, one in alone.items() if one is not None)
        raise FalloffError(
            Fault(
                f"{given} says something of a still, and there is none",
                "--still",
                expected="a picture that you own",
                fix="name it with --still PICTURE",
            )
        )
    if still is not None:
        places = dict(place_of(one) for one in place or ())
        own = FromStill(still, places, curve, tuple(alike or ()), graded)
    asked = BalanceAsked(
        setups=tuple(setup or ()),
        each=each,
        only=tuple(target or ()),
        still=own,
        out=out,
        write=write,
    )
    with show.progress(quiet=json) as progress:
        result = run_balance(scene, asked, progress=progress)
    if json:
        show.print_json(show_balance.balance_document(result))
    else:
        show_balance.print_balanced(result, scene)


def match(
    scene: SceneFile,
    first: Annotated[str, typer.Argument(help="The setup to be held, such as the wide.")],
    second: Annotated[str, typer.Argument(help="The setup that is to match it.")],
    hold: Annotated[
        list[str] | None,
        typer.Option("--hold", help="key, contrast or background; all three if left out."),
    ] = None,
    out: OutScene = None,
    write: Write = False,
    json: Json = False,
) -> None:
    """Hold key level, contrast and background from one setup to the next by its dims."""
    from falloff.cli import show, show_balance
    from falloff.session import MatchAsked, held_of, run_match

    asked = MatchAsked(first, second, held_of(tuple(hold or ())), out, write)
    with show.progress(quiet=json) as progress:
        result = run_match(scene, asked, progress=progress)
    if json:
        show.print_json(show_balance.match_document(result))
    else:
        show_balance.print_matched(result, scene)
