"""Commands, their options and their exit codes: 0 done, 2 something in the input is wrong."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from falloff.errors import FalloffError

app = typer.Typer(
    name="falloff",
    help="Plan and diagnose the lighting of a scene in a real room by computing it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

SceneFile = Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml.")]
Setups = Annotated[
    list[str] | None, typer.Option("--setup", help="Only this setup; may be given again.")
]
Out = Annotated[Path, typer.Option("--out", help="Folder for the results.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Width = Annotated[
    int, typer.Option("--width", min=160, max=4096, help="Width of the pictures, in pixels.")
]


@app.command()
def demo(out: Out = Path("falloff-demo"), width: Width = 640, json: Json = False) -> None:
    """Light the shipped workshop: readings, pictures, stops maps and linear layers."""
    from falloff.cli import show
    from falloff.session import run_demo

    with show.progress(quiet=json) as progress:
        result = run_demo(out=out, width=width, progress=progress)
    if json:
        show.print_json(show.demo_document(result))
    else:
        show.print_readings(result.readings[0], result.units)
        for readings in result.readings[1:]:
            show.print_line("")
            show.print_paragraph(readings)
        show.print_files(result.files)
        others = ", ".join(one.setup for one in result.readings[1:])
        show.print_line(f"{others}: falloff picture {result.scene} pictures it too.")
        show.print_line(
            f"The scene itself: {result.scene}. Change it and run: falloff meter {result.scene}"
        )


@app.command()
def meter(scene: SceneFile, setup: Setups = None, json: Json = False) -> None:
    """Read every reading that a scene asks for, source by source, with its error."""
    from falloff.cli import show
    from falloff.session import run_meter

    with show.progress(quiet=json) as progress:
        result = run_meter(scene, setups=tuple(setup or ()), progress=progress)
    if json:
        show.print_json(show.meter_document(result))
    else:
        for readings in result.readings:
            show.print_readings(readings, result.units, errors=True)


@app.command()
def picture(
    scene: SceneFile,
    setup: Setups = None,
    out: Out = Path("falloff-pictures"),
    width: Width = 960,
    json: Json = False,
) -> None:
    """Write what each setup's camera sees: picture, stops map, and linear layers by source."""
    from falloff.cli import show
    from falloff.session import run_picture

    with show.progress(quiet=json) as progress:
        files = run_picture(
            scene, out=out, width=width, setups=tuple(setup or ()), progress=progress
        )
    if json:
        show.print_json(show.files_document(files))
    else:
        show.print_files(files)


def main() -> None:
    """Run the terminal; an error that a person can cure is told in its own words."""
    try:
        app()
    except FalloffError as error:
        from falloff.cli.show import print_error

        print_error(error)
        sys.exit(2)
    except BrokenPipeError:  # the reader has seen enough
        sys.stdout = None
        sys.exit(0)
    except OSError as error:
        where = f" to {error.filename}" if error.filename else ""
        sys.stdout = None
        sys.stderr.write(f"the result cannot be written{where}: {error.strerror}\n")
        sys.exit(2)
