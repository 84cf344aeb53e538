"""Commands, their options and their exit codes: 0 done, 2 something in the input is wrong."""

from __future__ import annotations

import dataclasses
import os
import sys
from pathlib import Path
from typing import Annotated, Final

import typer

from falloff.cli import balance as balances
from falloff.cli import fixes as fixing
from falloff.cli.correct import correct
from falloff.cli.kit import kit_app
from falloff.cli.why import why
from falloff.errors import FalloffError

_STDOUT: Final = 1

app = typer.Typer(
    name="falloff",
    help="Plan and diagnose the lighting of a scene in a real room by computing it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(kit_app)
app.command()(balances.balance)
app.command()(balances.match)
app.command()(fixing.fixes)
app.command()(correct)
app.command()(why)

SceneFile = Annotated[Path, typer.Argument(help="A scene file, NAME.scene.yaml.")]
Setups = Annotated[
    list[str] | None, typer.Option("--setup", help="Only this setup; may be given again.")
]
Out = Annotated[Path, typer.Option("--out", help="Folder for the results.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Width = Annotated[
    int, typer.Option("--width", min=160, max=4096, help="Width of the pictures, in pixels.")
]


LocationName = Annotated[
    str, typer.Argument(metavar="[LOCATION]", help="workshop, kitchen or stairwell.")
]


@app.command()
def demo(
    location: LocationName = "workshop",
    out: Out = Path("falloff-demo"),
    width: Width = 640,
    json: Json = False,
) -> None:
    """Light a shipped location: readings, picture, stops map, waveform and linear layers."""
    from falloff.cli import show
    from falloff.cli.words import one_of
    from falloff.session import LOCATIONS, run_demo

    place = one_of(location, LOCATIONS, "location")
    with show.progress(quiet=json) as progress:
        result = run_demo(place, out=out, width=width, progress=progress)
    if json:
        show.print_json(show.demo_document(result))
    else:
        show.print_readings(result.readings[0], result.units)
        for readings in result.readings[1:]:
            show.print_line("")
            show.print_paragraph(readings)
        show.print_files(result.files)
        others = [one.setup for one in result.readings[1:]] + list(result.others)
        if others:
            named = ", ".join(others)
            show.print_line(f"{named}: falloff picture {result.scene} pictures it too.")
        show.print_line(
            f"The scene itself: {result.scene}. Change it and run: falloff meter {result.scene}"
        )


def _answer(about: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(help=about)
    return option


@app.command()
def new(
    situation: Annotated[
        str | None,
        typer.Argument(metavar="[SITUATION]", help="window, table, interview or kitchen."),
    ] = None,
    room: Annotated[str, _answer("Width x depth: '5 x 4 m'.")] = "",
    ceiling: Annotated[str, _answer("Its height: '2.6 m'.")] = "",
    wall: Annotated[str, _answer("white, mid, dark (or cream, grey ...), or a reflectance.")] = "",
    window: Annotated[
        str, _answer("'1.5 x 1.2 m, 1.3 m away, 9 o'clock' (camera at 6), or none.")
    ] = "",
    dressing: Annotated[str, _answer("bare, sheer, blind, 'ND 0.6 gel' or blackout.")] = "",
    outside: Annotated[str, _answer("One meter reading outside, or the sky in words.")] = "",
    key: Annotated[
        str, _answer("'300 W LED in 90 cm soft box at 1.5 m, 4 o'clock', or none.")
    ] = "",
    place: Annotated[str, _answer("The key's: '1.5 m, 4 o'clock, 2 m up'.")] = "",
    camera: Annotated[str, _answer("'T2.8, ISO 800, 180 deg, ND 0.6'.")] = "",
    fill: Annotated[str, _answer("none, 'white board' or black.")] = "",
    units: Annotated[
        str | None, typer.Option(help="metric or imperial; metric if it is not asked.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="The scene file to write.")] = None,
    ask: Annotated[
        bool | None, typer.Option("--ask/--no-ask", help="Ask what no option answers, or do not.")
    ] = None,
    json: Json = False,
) -> None:
    """Answer ten questions at most; get the stop at the face, and what it hangs on, in stops."""
    from falloff.cli import quick

    answers = {
        "room": room,
        "ceiling": ceiling,
        "wall": wall,
        "window": window,
        "dressing": dressing,
        "outside": outside,
        "key": key,
        "place": place,
        "camera": camera,
        "fill": fill,
    }
    quick.start(situation, answers, units=units, out=out, ask=ask, json=json)


@app.command()
def check(scene: SceneFile, json: Json = False) -> None:
    """Tell what is wrong with a scene file, all at once; nothing is traced."""
    from falloff.cli import show
    from falloff.session import run_check

    result = run_check(scene)
    if json:
        show.print_json(show.check_document(result))
    else:
        show.print_checked(result)


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
    before: Annotated[
        Path | None,
        typer.Option("--before", help="An earlier scene file to set beside this one."),
    ] = None,
    json: Json = False,
) -> None:
    """Write what each setup's camera sees: picture, stops map, waveform, histogram, layers."""
    from falloff.cli import show
    from falloff.session import run_picture

    with show.progress(quiet=json) as progress:
        result = run_picture(
            scene,
            out=out,
            width=width,
            setups=tuple(setup or ()),
            before=before,
            progress=progress,
        )
    if json:
        show.print_json(show.files_document(result))
    else:
        show.print_pictures(result)


@app.command()
def day(
    scene: SceneFile,
    setup: Setups = None,
    date: Annotated[
        list[str] | None,
        typer.Option("--date", help="Another date, 2026-12-21; up to three side by side."),
    ] = None,
    turn: Annotated[
        list[float] | None,
        typer.Option("--turn", help="The house turned by so many degrees, clockwise; up to three."),
    ] = None,
    sky: Annotated[
        list[str] | None,
        typer.Option("--sky", help="clear, thin cloud, broken cloud, overcast; up to three."),
    ] = None,
    step: Annotated[
        int, typer.Option("--step", min=1, max=60, help="Minutes from moment to moment.")
    ] = 15,
    out: Out = Path("falloff-day"),
    json: Json = False,
) -> None:
    """Tell when each target holds, where the sun falls, when to pull ND; draw the day's sheet."""
    from datetime import timedelta

    from falloff.cli import show, show_day
    from falloff.clock import read_day
    from falloff.session import DayAsked, run_day

    asked = DayAsked(
        setups=tuple(setup or ()),
        dates=tuple(read_day(one) for one in date or ()),
        turned_deg=tuple(turn or ()),
        skies=tuple(sky or ()),
        step=timedelta(minutes=step),
    )
    with show.progress(quiet=json) as progress:
        result = run_day(scene, asked, out=out, progress=progress)
    if json:
        show.print_json(show_day.day_document(result))
    else:
        show_day.print_days(result)


@app.command(name="open")
def open_page(
    scene: Annotated[
        Path | None, typer.Argument(help="A scene file; left out, the page offers to begin one.")
    ] = None,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port of the page; 0 takes a free one.")
    ] = 0,
    width: Annotated[
        int, typer.Option("--width", min=160, max=1280, help="Width of its pictures, in pixels.")
    ] = 640,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open it in the browser, or only serve.")
    ] = True,
) -> None:
    """Work on a scene by hand, in the browser: this machine alone can see the page."""
    from falloff.cli import show
    from falloff.page import serve_page

    def announce(address: str) -> None:
        show.print_line(f"The page is at {address} - Ctrl+C ends it; all is saved as you go.")
        if browser:
            import webbrowser

            webbrowser.open(address)

    serve_page(scene, port=port, width=width, announce=announce)


@app.command()
def pocket(
    scene: SceneFile,
    setup: Setups = None,
    hour: Annotated[
        list[str] | None,
        typer.Option("--hour", help="16:40, sunrise, noon, sunset or dusk; may be given again."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="The file to write; NAME.pocket.html if left out.")
    ] = None,
    json: Json = False,
) -> None:
    """Write one file to carry: dim the lights and note the meter on a phone, without a network."""
    from falloff.cli import show
    from falloff.session import pocket_stem, run_pocket

    with show.progress(quiet=json) as progress:
        result = run_pocket(
            scene,
            out=out or Path(f"{pocket_stem(scene)}.pocket.html"),
            setups=tuple(setup or ()),
            hours=tuple(hour or ()),
            progress=progress,
        )
    if json:
        fields = dataclasses.asdict(result) | {"file": str(result.file)}
        show.print_json({"falloff_json": show.JSON_VERSION} | fields)
    else:
        show.print_pocket(result)


def _keep_to_ourselves() -> None:
    """Keep standard output for the answer: what a library prints past Python goes nowhere.

    HiGHS has a line of its own that no option of it keeps back; `--json` is one document.
    """
    if sys.stdout is not sys.__stdout__ or sys.stdout is None or sys.stdout.fileno() != _STDOUT:
        return
    sys.stdout.flush()
    own = os.dup(_STDOUT)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, _STDOUT)
    os.close(nowhere)
    sys.stdout = open(  # noqa: PTH123, SIM115 - of a descriptor, and for as long as we run
        own, "w", encoding=sys.stdout.encoding, errors=sys.stdout.errors, buffering=1
    )


def main() -> None:
    """Run the terminal; an error that a person can cure is told in its own words."""
    _keep_to_ourselves()
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
