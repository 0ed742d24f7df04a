"""Questions for a class: only what the trial can answer, with the answer from its own figures."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import computed_sample, sample_folders
from figures.trials import FALLING, HOLDER, THREE_HOURS, column, write

from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.view.questions import MOST_QUESTIONS, QuestionView, questions
from view.hand import is_printed_as, reckoned


def asked(folder: Path) -> tuple[QuestionView, ...]:
    trial = read_trial(folder)
    return questions(trial, compute(trial))


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda folder: folder.name)
def test_every_sample_makes_six_to_ten_questions_each_with_an_answer(folder: Path) -> None:
    found = questions(*computed_sample(folder.name))
    assert 6 <= len(found) <= MOST_QUESTIONS
    for item in found:
        text = f"{item.question} {item.answer} {' '.join(item.lines)}"
        assert item.question.endswith("?")
        assert item.answer
        assert not re.search(r"None|nan|\{", text)
    assert len({item.question for item in found}) == len(found)


def test_worked_answers_are_the_figures_of_the_report() -> None:
    trial, found = computed_sample("canteen-hand-readings")
    rate = next(item for item in questions(trial, found) if "in an hour" in item.question)
    assert rate.lines == tuple(str(found["gas_per_hour_as_read"].working).split(" = "))
    assert f"{found['gas_per_hour_as_read'].value:.1f} L/h" in rate.answer


def assert_pupils_arrive(item: QuestionView) -> None:
    sum_, result = item.lines[-2:]
    found = reckoned(sum_)
    assert is_printed_as(found, result.split()[0]), item
    assert is_printed_as(found, item.answer.split()[1].rstrip(";")), item
    if "took the most" not in item.question:  # the question shows one number of the sum, the lines the others
        numbers = re.findall(r"\d+\.\d+", re.sub(r"× 10⁶|1000|3600", "", sum_))
        assert all(number in item.question for number in numbers), item


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda folder: folder.name)
def test_whoever_reckons_with_the_printed_numbers_arrives_at_the_printed_answer(folder: Path) -> None:
    for item in questions(*computed_sample(folder.name)):
        if len(item.lines) > 1:
            assert_pupils_arrive(item)


def test_a_figure_that_the_trial_lacks_makes_no_question(tmp_path: Path) -> None:
    write(tmp_path, column("gas_volume [L]", FALLING), burner=THREE_HOURS, gas=HOLDER)
    text = " ".join(item.question for item in asked(tmp_path))
    assert "How much is that in an hour?" in text
    for word in ("ice", "cabinet", "water", "waste"):
        assert not re.search(rf"\b{word}\b", text)


def test_whether_a_threshold_may_be_claimed_follows_the_range(tmp_path: Path) -> None:
    for lowest, answer in ((-12.2, "No: its range"), (-14.0, "Yes:"), (-10.0, "No: even")):
        log = column("cabinet_temperature [degC]", {0: 20, 1: 0, 2: lowest, 2.5: lowest, 3: lowest})
        folder = tmp_path / str(lowest)
        write(folder, log, burner=THREE_HOURS, cabinet={"accuracy": "0.5 K (limits)"})
        (item,) = (item for item in asked(folder) if "May we write" in item.question)
        assert item.answer.startswith(answer)


def test_a_run_without_logs_asks_nothing_it_cannot_answer(tmp_path: Path) -> None:
    write(tmp_path, column("note", {0: "lit"}), burner=THREE_HOURS)
    assert [item for item in asked(tmp_path) if item.lines] == []
