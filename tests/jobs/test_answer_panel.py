"""The answer panel: what leads it, and that every tone a rule can take has a look."""

from __future__ import annotations

import pytest
from django.template.loader import render_to_string

from jobs.pages.answers import answer_shown
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Finding, Tone

LOOKS = {Tone.GOOD: "good", Tone.NOTE: "plain", Tone.WARNING: "warning", Tone.REFUSAL: "refusal"}


def panel(*findings: Finding, outcome: Outcome = Outcome.DONE) -> str:
    answer = answer_shown(Answer(outcome, findings=findings))
    return render_to_string("jobs/_answer.html", {"answer": answer})


@pytest.mark.parametrize("tone", Tone)
def test_every_tone_has_a_look(tone):
    html = panel(Finding("found", tone, "What was found."))

    assert f"verdict tone--{LOOKS[tone]}" in html
    assert "What was found." in html


def test_the_heaviest_finding_leads():
    html = panel(
        Finding("note", Tone.NOTE, "By the way."),
        Finding("good", Tone.GOOD, "Well done."),
        Finding("refusal", Tone.REFUSAL, "Not so."),
    )

    assert "verdict tone--refusal" in html
    assert html.index("Not so.") < html.index("Well done.") < html.index("By the way.")


def test_only_notes_are_no_tick():
    html = panel(Finding("no_limit", Tone.NOTE, "There is no limit."), outcome=Outcome.NO_VERDICT)

    assert "No verdict" in html
    assert "In order" not in html


def test_nothing_found_is_no_tick_either():
    assert "verdict tone--plain" in panel()
