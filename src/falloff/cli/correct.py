"""falloff correct: readings from the shoot against the plan."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

SceneFile = Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]


def correct(
    scene: SceneFile,
    read: Annotated[
        list[str] | None,
        typer.Option(
            "--read", help="'key cheek: 320 lx; BOOK on', '...; ambient'; again for more."
        ),
    ] = None,
    metered: Annotated[
        Path | None,
        typer.Option("--metered", help="What a pocket copy saved, NAME.metered.json."),
    ] = None,
    setup: Annotated[
        str | None, typer.Option("--setup", help="The setup read in; the first if left out.")
    ] = None,
    believe: Annotated[
        list[str] | None,
        typer.Option("--believe", help="A reading to take though it seems impossible; by name."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write the corrected scene to this file.")
    ] = None,
    write: Annotated[
        bool, typer.Option("--write", help="Write the corrections into the scene file.")
    ] = False,
    record: Annotated[
        bool, typer.Option("--record", help="Keep what --read gives under measured:.")
    ] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep what was learned of your own kit in its file.")
    ] = False,
    json: Json = False,
) -> None:
    """Put the plan right by meter readings: what changed, how surely, and what to meter next."""
    from falloff.cli import show, show_correct
    from falloff.session import CorrectAsked, run_correct

    asked = CorrectAsked(
        reads=tuple(read or ()),
        setup=setup,
        believe=tuple(believe or ()),
        out=out,
        write=write,
        record=record,
        keep=keep,
        metered=metered,
    )
    with show.progress(quiet=json) as progress:
        result = run_correct(scene, asked, progress=progress)
    if json:
        show.print_json(show_correct.correct_document(result))
    else:
        show_correct.print_corrected(result, scene, asked)
