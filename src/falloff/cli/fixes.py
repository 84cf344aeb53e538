"""falloff fixes: what would bring in what no dim brings in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

SceneFile = Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml.")]


def fixes(
    scene: SceneFile,
    setup: Annotated[
        list[str] | None, typer.Option("--setup", help="A setup; again for more; all if left out.")
    ] = None,
    target: Annotated[
        list[str] | None, typer.Option("--target", help="Only this target; again for more.")
    ] = None,
    hours: Annotated[
        bool, typer.Option("--hours/--no-hours", help="Try other hours of the day, or do not.")
    ] = True,
    take: Annotated[
        int | None, typer.Option("--take", min=1, help="Write this fix, by its number.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write the scene with the fix to this file.")
    ] = None,
    write: Annotated[
        bool, typer.Option("--write", help="Write the fix into the scene file.")
    ] = False,
    every: Annotated[
        bool, typer.Option("--all", help="Tell every fix at length, and how they are ranked.")
    ] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document and nothing else.")
    ] = False,
) -> None:
    """Tell what would bring in the targets that no dim can, ranked by stops for the effort."""
    from falloff.cli import show, show_fixes
    from falloff.session.fixes import FixesAsked, run_fixes

    asked = FixesAsked(
        setups=tuple(setup or ()),
        only=tuple(target or ()),
        hours=hours,
        take=take,
        out=out,
        write=write,
    )
    with show.progress(quiet=json) as progress:
        result = run_fixes(scene, asked, progress=progress)
    if json:
        show.print_json(show_fixes.fixes_document(result))
    else:
        show_fixes.print_fixes(result, scene, whole=every)
