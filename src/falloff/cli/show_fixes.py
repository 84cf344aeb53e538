"""How fixes look in a terminal, and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import msgspec
from rich.table import Table
from rich.text import Text

from falloff.balance.fixes.records import Confirmed, Fix, Fixes, FixTarget
from falloff.balance.fixes.words import amount, cost_text
from falloff.balance.words import listed
from falloff.cli import show

_FIRST: Final = 3  # told with all that goes with them; the others are a line each
_LOST: Final = " held, and no longer does"  # a side effect that is told as lost

_Said = TypeVar("_Said")

if TYPE_CHECKING:
    from falloff.session.fixes import FixesFound


def print_fixes(result: FixesFound, scene: Path, *, whole: bool = False) -> None:
    """Each group's fixes, numbered through, or the one that was taken; whole: each at length."""
    if result.taken is not None and result.written is not None:
        show.print_line("")
        _print_whole(result.taken.fix, "")
        show.print_line(f"Written to {result.written}.")
        return
    number = 0
    for group in result.groups:
        number = _print_group(group.told, number, whole=whole)
    can = [k for k, one in enumerate(result.every, 1) if one.edits]
    if can:
        more = "" if whole else "--all tells each at length; "
        show.print_line("")
        show.print_plain(
            f"falloff fixes {scene}: {more}--take {can[0]} --out NEW.scene.yaml writes fix "
            f"{can[0]} into a new file."
        )


def _print_group(found: Fixes, number: int, *, whole: bool) -> int:
    show.print_line("")
    show.print_heading(f"{found.scene} — {', '.join(found.setups)}")
    if not found.missed:
        for sentence in found.says:
            show.print_plain(sentence)
        show.print_findings(found.findings)
        return number
    show.print_table(_missed_table(found))
    show.print_line("")
    for sentence in found.says[1:-1]:  # what no light reaches
        show.print_plain(sentence)
    show.print_plain(_opening(found))
    setups = found.setups
    numbered = list(enumerate(found.fixes, number + 1))
    first = numbered if whole else _first_of(numbered)
    for k, one in first:
        if whole:
            show.print_line("")
            _print_whole(one, f"{k}.")
        else:
            _print_rows(f"{k}.", _heading(one), _short_lines(one, setups=setups))
    rest = [pair for pair in numbered if pair not in first]
    others = [pair for pair in rest if pair[1].kind != "accept"]
    if others:
        show.print_line("")
        show.print_table(_rest_table(others, setups=setups))
    for k, one in (pair for pair in rest if pair not in others):
        show.print_plain(f"{k}. {one.says}: what is missed stays as it is")
    if whole:
        show.print_line("")
        show.print_plain(f"Of {found.tried} weighed, {found.rule}.")
    show.print_findings(found.findings)
    return number + len(found.fixes)


def _first_of(numbered: Sequence[tuple[int, Fix]]) -> list[tuple[int, Fix]]:
    """The first few that differ by more than how strong they are, else the first."""
    met: set[tuple[str, str, float]] = set()
    unlike: list[tuple[int, Fix]] = []
    alike: list[tuple[int, Fix]] = []
    for pair in numbered:
        one = pair[1]
        about = (one.kind, one.does[0].partition(":")[0], one.minutes)
        (alike if about in met else unlike).append(pair)
        met.add(about)
    best = [pair for pair in (*unlike, *alike) if pair[1].kind != "accept"]
    return sorted(best[:_FIRST], key=lambda pair: pair[0])


def _opening(found: Fixes) -> str:
    """What the first fixes are, or that there is none on set."""
    on_set = [one for one in found.fixes if one.worth_stops > 0.0 and not one.later]
    if not on_set:
        return found.says[-1]
    count = min(sum(one.kind != "accept" for one in found.fixes), _FIRST)
    best = "The best" if count == 1 else f"The best {count}"
    if on_set[0].brings_all:
        return f"What brings everything in comes first. {best}, of {found.tried} weighed:"
    return f"No single change brings everything in. {best}, of {found.tried} weighed:"


# Tables ----------------------------------------------------------------------------------


def _missed_table(found: Fixes) -> Table:
    """What is missed, by how much, what it is and what it should be."""
    table = _table("missed with the best dims", "by", "it is", "wanted")
    rows = [((_by(one), one.got, one.asks), one) for one in found.missed]
    for name, cells in _together(rows, found.setups):
        table.add_row(*_cells(name, *cells))
    return table


def _together(
    told: Iterable[tuple[_Said, FixTarget]], setups: Sequence[str]
) -> list[tuple[str, _Said]]:
    """Each target with what is said of it once, and the setups of which it is where not of all."""
    alike: dict[tuple[str, _Said], list[str]] = {}
    for said, one in told:
        alike.setdefault((one.name, said), []).append(one.setup)
    return [
        (name if len(mine) == len(setups) else f"{name} in {listed(mine)}", said)
        for (name, said), mine in alike.items()
    ]


def _by(one: FixTarget) -> str:
    """By how much it is missed beyond its tolerance, and which way."""
    way = one.miss.partition(" too ")[2]
    return f"{amount(one.before, one.unit)} too {way}" if way else amount(one.before, one.unit)


def _rest_table(rest: Sequence[tuple[int, Fix]], *, setups: Sequence[str]) -> Table:
    """The other fixes, a row each."""
    names = ("", "else", "nearer", "min", "people", "hire", "brings in", "loses")
    rows = [_rest_row(number, one, setups=setups) for number, one in rest]
    used = [k for k in range(len(names)) if any(row[k] for row in rows)]
    table = _table(*(names[k] for k in used))
    for column, k in zip(table.columns, used, strict=True):
        if names[k] in {"", "nearer", "min", "people"}:
            column.justify, column.no_wrap = "right", True
    for row in rows:
        table.add_row(*_cells(*(row[k] for k in used)))
    return table


def _rest_row(number: int, one: Fix, *, setups: Sequence[str]) -> tuple[str, ...]:
    return (
        f"{number}.",
        one.says,
        f"{one.worth_stops:.1f}",
        f"{one.minutes:.0f}{' later' if one.later else ''}",
        f"{one.hands}",
        _hire(one),
        "all" if one.brings_all else ", ".join(_names(_comes_in(one), setups=setups)),
        ", ".join(_names(_is_lost(one), setups=setups)),
    )


def _hire(one: Fix) -> str:
    if one.day_rate:
        return f"{one.day_rate:g} a day"
    if one.day_rate is None and one.hire_says:
        return "rate unknown"
    return "own" if one.hire_says else ""


def _table(*names: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0))
    for name in names:
        table.add_column(name, overflow="fold")
    return table


def _cells(*texts: str) -> Iterable[Text]:
    """Text that is not read as markup."""
    return (Text(one) for one in texts)


def _print_rows(number: str, heading: str, lines: Sequence[str]) -> None:
    """A number, a heading, and lines that stay indented where they are broken."""
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(no_wrap=True, min_width=2)
    grid.add_column(overflow="fold")
    grid.add_row(Text(number, style="bold"), Text(heading, style="bold"))
    for line in lines:
        grid.add_row("", Text(line))
    show.print_table(grid)


# One fix ---------------------------------------------------------------------------------


def _heading(one: Fix) -> str:
    if one.kind == "accept":
        return one.says
    whole = ", everything holds" if one.brings_all else ""
    return f"{one.says}: {amount(one.worth_stops, 'stops')} nearer{whole}; {cost_text(one)}"


def _short_lines(one: Fix, *, setups: Sequence[str]) -> list[str]:
    """What comes in and what is lost, what goes with it, what to mind; a line each."""
    parts = [
        ("brings in", _names(_comes_in(one), setups=setups)),
        ("nearer", _from_to(_shifted(one, nearer=True), setups=setups)),
        ("farther", _from_to(_shifted(one, nearer=False), setups=setups)),
        ("loses", _names(_is_lost(one), setups=setups)),
    ]
    lines = ["; ".join(f"{word} {listed(names)}" for word, names in parts if names)]
    if one.dims:
        lines.append(f"with {listed(one.dims)}")
    lines.append("; ".join(part for part in one.side_effects if _LOST not in part))
    if one.cautions:
        lines.append(f"mind: {'; '.join(one.cautions)}")
    if one.confirmed is not None and not one.confirmed.keeps:
        lines.append(_confirmed_text(one.confirmed))
    return [line for line in lines if line]


def _print_whole(one: Fix, number: str) -> None:
    lines = []
    if one.kind != "accept":
        lines.append(f"{'; '.join(one.does)}")
    if one.dims:
        lines.append(f"with {listed(one.dims)}")
    if one.kind != "accept":
        lines += [_target_text(target) for target in one.targets if _moves(target)]
    lines += one.side_effects
    lines += [f"mind: {caution}" for caution in one.cautions]
    if one.confirmed is not None:
        lines.append(_confirmed_text(one.confirmed))
    _print_rows(number, _heading(one), lines)


def _comes_in(one: Fix) -> list[FixTarget]:
    return [target for target in one.targets if target.before > 0.0 and target.after <= 0.0]


def _is_lost(one: Fix) -> list[FixTarget]:
    return [target for target in one.targets if target.before <= 0.0 and target.after > 0.0]


def _shifted(one: Fix, *, nearer: bool) -> list[FixTarget]:
    """Targets that are missed before and after, and nearer, or farther, by what anybody sees."""
    return [
        target
        for target in one.targets
        if _moves(target) and target.after > 0.0 and (target.after < target.before) == nearer
    ]


def _names(targets: Sequence[FixTarget], *, setups: Sequence[str]) -> list[str]:
    return [name for name, _ in _together((("", one) for one in targets), setups)]


def _from_to(targets: Sequence[FixTarget], *, setups: Sequence[str]) -> list[str]:
    told = (
        (f"{_number(one.before, one.unit)} to {amount(one.after, one.unit)}", one)
        for one in targets
    )
    return [f"{name} ({said})" for name, said in _together(told, setups)]


def _number(value: float, unit: str) -> str:
    return f"{value:.1f}" if unit == "stops" else f"{value:.0f}"


def _moves(one: FixTarget) -> bool:
    """Whether a missed target comes nearer, or goes farther, by as much as is told."""
    shows = _number(one.before, one.unit) != _number(one.after, one.unit)
    return one.before > 0.0 and (one.after <= 0.0 or shows)


def _target_text(one: FixTarget) -> str:
    then = "then held" if one.after <= 0.0 else f"then by {amount(one.after, one.unit)}"
    return f"{one.name} in {one.setup}: missed by {amount(one.before, one.unit)}, {then}"


def _confirmed_text(one: Confirmed) -> str:
    if one.keeps:
        return f"{one.says}, within {max(one.worst_stops, 0.005):.2f} stop"
    parts = [
        f"{target.name} in {target.setup} {target.traced - target.promised:+.1f}"
        for target in one.targets
        if target.unit == "stops" and abs(target.traced - target.promised) > 0.1
    ]
    return one.says if not parts else f"{one.says} ({'; '.join(parts)}): told as traced"


def fixes_document(result: FixesFound) -> dict[str, Any]:
    """Fixes as JSON."""
    return {
        "falloff_json": show.JSON_VERSION,
        "groups": [msgspec.to_builtins(group.told) for group in result.groups],
        "taken": None if result.taken is None else msgspec.to_builtins(result.taken.fix),
        "written": None if result.written is None else str(result.written),
    }
