"""falloff balance and falloff match: dims from what is wanted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

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
    out: OutScene = None,
    write: Write = False,
    json: Json = False,
) -> None:
    """Find the dims that bring every target in, or say by how much not, what binds, what breaks."""
    from falloff.cli import show, show_balance
    from falloff.session import BalanceAsked, run_balance

    asked = BalanceAsked(tuple(setup or ()), each, tuple(target or ()), out, write)
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
