"""All trials below a folder: each reported once, and what stands over them made of their results files."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from reportgen.batch.find import look_through, place_of, places_of
from reportgen.batch.memory import (
    OVER_ALL,
    Memory,
    Record,
    file_sum,
    inputs_of,
    manner_of,
    one_at_a_time,
    program,
    sum_of,
)
from reportgen.batch.order import FAILED, FORMATS, FULL, UNCHANGED, Order, Outcome
from reportgen.batch.workers import Task, attempt, work
from reportgen.codes import CODES
from reportgen.errors import OutputError
from reportgen.issue import refuse_mixing
from reportgen.results_reader import RESULTS_NAME
from reportgen.speech import Manner, load, speaking
from reportgen.wish import Wish
from reportgen.write import clear_parts

if TYPE_CHECKING:
    from reportgen.publication import Entry

_AS_IT_IS, _IN_ENGLISH = Wish(), Manner()
DOUBLE = (
    "it would be published under the name of {first}: both state the same id, site, operator and date; give each an id"
)


@dataclass(frozen=True, slots=True)
class Season:
    """What a batch did: the outcomes in order of the folders, and the folders that look like trials and are none."""

    outcomes: tuple[Outcome, ...]
    passed_over: tuple[tuple[Path, str], ...]


def report_batch(
    folder: Path,
    out: Path,
    *,
    formats: tuple[str, ...] = FORMATS,
    wish: Wish = _AS_IT_IS,
    edition: str = FULL,
    manner: Manner = _IN_ENGLISH,
    jobs: int | None = None,
    scheduler: str | None = None,
    again: bool = False,
    progress: Callable[[Outcome, int], object] = lambda _outcome, _total: None,
    wait: Callable[[], object] = lambda: None,
) -> Season:
    """Write the reports of all trials below a folder, and what stands over them: index, comparison, tables.

    A report that stands there, whole and made of the same, is not made `again`. The outcomes, and the bytes written,
    do not depend on `jobs` or `scheduler`. `progress` is told each outcome and how many there will be; `wait` is
    called where another batch is writing to `out`.

    Raises
    ------
    ReportgenError
        If there is no trial below the folder, or the index cannot be written.
    """
    with one_at_a_time(out, wait):
        trials, passed = look_through(folder, out)
        memory = Memory(out)
        refuse_mixing(out, wish.anonymous, memory.folders(wish.anonymous))
        places = places_of(trials, folder)
        orders = [
            Order(trial, out, formats, wish, below=True, edition=edition, manner=manner)
            if wish.anonymous
            else Order(trial, out / places[trial], formats, wish, edition=edition, manner=manner)
            for trial in trials
        ]
        asked, keys = manner_of(manner), [""] * len(orders)
        outcomes: list[Outcome | None] = [None] * len(orders)

        def settle(number: int, outcome: Outcome) -> None:
            progress(outcome, len(orders))
            # What was found in each trial has been told; kept of all, it would fill the memory.
            outcomes[number] = replace(outcome, errors=(), cautions=(), warnings=())

        def tasks() -> Iterator[Task]:
            for number, order in enumerate(orders):
                try:
                    key = keys[number] = _key(order, places[order.folder], asked)
                    record = None if again else memory.recall(key)
                except OSError as error:
                    settle(number, Outcome(order.folder, FAILED, f"{order.folder}: {error.strerror or error}"))
                    continue
                if record is None:
                    yield Task(number, order, out, key, program() if scheduler is not None else "")
                else:
                    names = tuple(record.files)
                    settle(number, Outcome(order.folder, UNCHANGED, out=out / record.report, names=names))

        for task, outcome in work(tasks(), min(jobs or os.cpu_count() or 1, len(orders)), scheduler):
            settle(task.number, outcome)
        done = [outcome for outcome in outcomes if outcome is not None]
        if wish.anonymous:
            done = _without_doubles(orders, keys, done, out)
        memory.tidy(set(keys))
        told = [(place_of(here, folder).as_posix(), reason) for here, reason in passed]
        with speaking(load(manner)):
            _write_over_all(folder, out, orders, keys, done, told, again=again)
        return Season(tuple(done), tuple(passed))


def _key(order: Order, place: Path, manner: object) -> str:
    """Return the sum of all that a report is made of."""
    asked = (order.formats, order.edition, str(order.wish.issued), order.wish.anonymous, manner)
    # The name of the folder stands in the report; where the folder is does not, but it is where the report goes.
    return sum_of(program(), asked, place.as_posix(), order.folder.resolve().name, inputs_of(order.folder))


def _without_doubles(
    orders: Sequence[Order], keys: Sequence[str], outcomes: Sequence[Outcome], out: Path
) -> list[Outcome]:
    """Return the outcomes of anonymous trials; of those that are published under one name, the first has it."""
    first: dict[Path, int] = {}
    done, again = list(outcomes), set()
    for number, outcome in enumerate(outcomes):
        if outcome.out is None:
            continue
        if outcome.out in first:
            again.add(first[outcome.out])
            reason = DOUBLE.format(first=outcomes[first[outcome.out]].folder)
            done[number] = Outcome(outcome.folder, FAILED, reason)
        first.setdefault(outcome.out, number)
    for number in again:
        done[number] = attempt(Task(number, orders[number], out, keys[number]))
    return done


def _write_over_all(
    folder: Path,
    out: Path,
    orders: Sequence[Order],
    keys: Sequence[str],
    outcomes: Sequence[Outcome],
    passed: Sequence[tuple[str, str]],
    *,
    again: bool,
) -> None:
    """Write what stands over all trials, unless it stands there and is made of the same.

    That of an anonymous batch is without names of folders and words of what failed.
    """
    is_anonymous = orders[0].wish.anonymous
    memory = Memory(out)
    lines = list(_lines(out, orders, keys, outcomes, memory))
    title = "" if is_anonymous else folder.resolve().name
    asked = (title, is_anonymous, manner_of(orders[0].manner))
    key = sum_of(program(), asked, lines, () if is_anonymous else passed)
    standing = memory.recall(OVER_ALL)
    if not again and standing is not None and standing.warnings == (key,):
        return
    from reportgen.publication import publish

    earlier = memory.kept(OVER_ALL)
    clear_parts(out)
    published = publish(out, _entries(out, lines), folder=title, passed_over=() if is_anonymous else passed)
    sums = {path.relative_to(out).as_posix(): file_sum(path) for path in published.paths}
    memory.keep(OVER_ALL, Record(".", is_anonymous, sums, (key,)))
    if earlier is not None:
        memory.clear(earlier, sums)


def _lines(
    out: Path, orders: Sequence[Order], keys: Sequence[str], outcomes: Sequence[Outcome], memory: Memory
) -> Iterator[tuple[str, ...]]:
    """Return for each trial its name and why it failed; or its name, its report, what that is, and its warnings."""
    for number, (order, key, outcome) in enumerate(zip(orders, keys, outcomes, strict=True), start=1):
        is_anonymous = order.wish.anonymous
        if outcome.out is None:
            reason = CODES[outcome.code].meaning if outcome.code in CODES else ""
            name = f"trial {number}" if is_anonymous else order.out.relative_to(out).as_posix()
            yield name, str(reason) if is_anonymous else outcome.reason
            continue
        record = memory.kept(key)
        if record is None:
            raise OutputError(
                "output-not-written", f"{outcome.out}: what was written there has been taken away while the batch ran."
            )
        name = outcome.out.name if is_anonymous else record.report
        yield name, record.report, _page(order.formats), record.files[RESULTS_NAME], *record.warnings


def _entries(out: Path, lines: Sequence[tuple[str, ...]]) -> Iterator[Entry]:
    """Return what stands of each trial over all; the results files are read one at a time."""
    from reportgen.publication import entry_of, failed_entry

    for name, report, *rest in lines:
        if not rest:
            yield failed_entry(name, report)
            continue
        page, _, *warnings = rest
        document = json.loads((out / report / RESULTS_NAME).read_bytes())
        yield entry_of(document, name, quote(f"{report}/{page}", errors="surrogateescape"), warnings)


def _page(formats: Sequence[str]) -> str:
    """Return what the index links to: the page of a report, else its print, else its text."""
    endings = {"html": "html", "pdf": "pdf", "md": "md", "text": "txt"}
    return next((f"report.{ending}" for form, ending in endings.items() if form in formats), "report.html")
