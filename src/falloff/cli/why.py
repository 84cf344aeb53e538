"""falloff why: what is wrong with the picture, from what cause, and the cheapest cure."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from falloff.errors import DocumentError, Fault

_SCENE_ENDINGS = (".yaml", ".yml")


def why(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SCENE] [COMPLAINT]...",
            help="A scene file and what is wrong: 'face flat', 'the back wall' hot, eyes dark.",
        ),
    ] = None,
    setup: Annotated[
        list[str] | None, typer.Option("--setup", help="Only this setup; may be given again.")
    ] = None,
    read: Annotated[
        list[str] | None,
        typer.Option(
            "--read", help="'key cheek: all 320 lx, BOOK 210, ambient 60'; may be given again."
        ),
    ] = None,
    readings: Annotated[
        Path | None, typer.Option("--readings", help="A file of such readings, in TOML.")
    ] = None,
    camera: Annotated[
        str, typer.Option("--camera", help="Of readings: 'T2.8, ISO 800, 180 deg, ND 0.6'.")
    ] = "",
    fix: Annotated[
        bool, typer.Option("--fix/--no-fix", help="Search the plan for fixes of missed targets.")
    ] = True,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document and nothing else.")
    ] = False,
) -> None:
    """Tell why a picture is wrong, by how many stops, and what costs least to cure it."""
    from falloff.cli import show, show_why
    from falloff.session.why import run_why, run_why_readings

    said = list(words or ())
    scene = _scene(said)
    if read or readings is not None:
        if scene is not None or setup:
            raise DocumentError(
                Fault(
                    what="a scene and readings taken on the day are two ways in",
                    expected="one of them", fix="leave the scene (and --setup) or the readings out",
                )
            )  # fmt: skip
        result = run_why_readings(tuple(read or ()), file=readings, camera=camera, said=said)
    elif scene is None:
        raise DocumentError(
            Fault(
                what="what is to be looked at?",
                expected="a scene file, --read or --readings",
                found=" ".join(said),
                fix="falloff why kitchen.scene.yaml face flat",
            )
        )
    else:
        if camera:
            raise DocumentError(
                Fault(
                    what="a scene's camera stands in its setups",
                    expected="--camera with --read or --readings alone",
                )
            )
        with show.progress(quiet=json) as progress:
            result = run_why(
                scene, said=said[1:], setups=tuple(setup or ()), search=fix, progress=progress
            )
    if json:
        show.print_json(show_why.why_document(result))
    else:
        show_why.print_whys(result)


def _scene(said: list[str]) -> Path | None:
    """The scene file among the words: the first, if it is one by its ending or stands there."""
    if not said:
        return None
    path = Path(said[0])
    return path if path.suffix in _SCENE_ENDINGS or path.is_file() else None
