"""Invented samples for the style guide: every component, with its longest words and its worst days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace as Thing

from django import forms
from django.contrib.messages import constants
from django.contrib.messages.storage.base import Message
from django.core.paginator import Page, Paginator

from shopcool.core.components.drawings import Row, Span, Tick
from shopcool.core.components.looks import HAZARDS
from shopcool.core.plots import Level, Mark, Plot

LONG = "Hose set with the long blue and red hoses of the second bay, bought together with machine 2"
NOW = datetime(2026, 3, 2, 10, 30, tzinfo=UTC)
UNITS = [("bar", "bar gauge"), ("psi", "psi gauge"), ("inHg", "inHg vacuum")]


class SampleForm(forms.Form):
    """One field of each shape, for the style guide."""

    low_pressure = forms.CharField(label="Low side", help_text="As the gauge shows it, engine running.")
    low_unit = forms.ChoiceField(label="Unit of the low side", choices=UNITS)
    charge = forms.CharField(label="Charge", initial="0,55")
    note = forms.CharField(
        label="What the customer says", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    bay = forms.ChoiceField(label="Bay", choices=[("1", "Bay 1"), ("2", "Bay 2, with the lift")])
    drive = forms.ChoiceField(
        label="Compressor drive",
        choices=[("BELT", "Belt"), ("ELECTRIC_HV", "Electric, high voltage"), ("DUAL", "Belt and electric")],
        widget=forms.RadioSelect,
        help_text="The oil follows the drive and the label, never the word hybrid.",
    )
    pieces = forms.MultipleChoiceField(
        label="Pieces in the loop",
        choices=[("S-2", "Hose set S-2"), ("G-1", "Sight glass G-1"), ("long", LONG)],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    worn = forms.BooleanField(label="Gloves of class 0 worn", help_text="Tested in the last six months.")


def filled_form() -> SampleForm:
    """Return the form as it opens."""
    return SampleForm(initial={"drive": "ELECTRIC_HV", "pieces": ["S-2"]}, prefix="filled")


def refused_form() -> SampleForm:
    """Return the form as it comes back, with what was typed kept and an error beside each field."""
    form = SampleForm(data={"wrong-low_pressure": "2o", "wrong-charge": "0,55"}, prefix="wrong")
    form.add_error("low_pressure", "“2o” is not a number. Did you mean 20?")
    form.add_error(None, "The reading was taken before the machine was connected.")
    return form


def pieces() -> list[Thing]:
    """Return one piece for each mark, one of them with a very long name."""
    return [
        piece("Machine M-2", "Service machine", "clear", high_voltage=True, verdict="good", url="#m-2"),
        piece(
            LONG,
            "Hose set",
            "residue",
            oil="PAG",
            url="#s-2",
            verdict="refusal",
            last_contact="red estate car, PAG, yesterday 16:40",
            clears="a line purge, about 12 min",
            due="Inspection due in 9 days",
        ),
        piece("Sight glass G-1", "Sight glass", "unknown", last_contact="never recorded", verdict="unknown"),
        piece("Injector J-3", "Oil injector", "dedicated", mark_word="Dedicated POE", dedicated_to="POE"),
        piece("Adapter A-9", "Adapter", "out_of_service", due="Seal torn; with the owner"),
        piece(
            "Hose set S-4", "Hose set", "residue", oil="PAG, mineral", holder="blue van, bay 2, since 9:10"
        ),
    ]


def piece(name: str, kind: str, mark: str, **more: object) -> Thing:
    """Return a sample piece."""
    return Thing(name=name, kind=kind, mark=mark, **more)


def reason_rows() -> list[dict[str, object]]:
    """Return a clearance panel with each verdict."""
    residue = {
        "sentence": "It last touched a circuit with PAG oil and has not been purged since.",
        "fix": "Run a line purge of this hose set",
        "fix_url": "#purge",
        "source": "exposure log, 1 March 2026 16:40",
    }
    expired = {
        "sentence": "Its calibration ends in 9 days.",
        "fix": "Book the calibration",
        "source": "certificate K-114",
        "tone": "warning",
    }
    unknown = {"sentence": "Nobody recorded what it touched.", "fix": "Purge it, or have it inspected"}
    return [
        {"name": "Machine M-2", "mark": "clear", "tone": "good", "high_voltage": True, "reasons": []},
        {"name": LONG, "mark": "residue", "oil": "PAG", "tone": "refusal", "reasons": [residue, expired]},
        {"name": "Sight glass G-1", "mark": "unknown", "tone": "unknown", "reasons": [unknown]},
        {"name": "Injector J-3", "mark": "dedicated", "mark_word": "Dedicated POE", "tone": "warning",
         "reasons": [expired]},
    ]  # fmt: skip


def steps() -> list[dict[str, str]]:
    """Return a procedure with each state."""
    return [
        {"label": "Label and complaint", "state": "done", "note": "9:12, Mira"},
        {"label": "High-voltage precautions", "state": "done", "note": "9:20, Mira", "url": "#done"},
        {"label": "Clearance and connection", "state": "now", "url": "#now"},
        {"label": "Recovery", "state": "blocked", "reason": "Nothing is connected yet. Connect first."},
        {"label": "Parts replaced", "state": "skipped", "note": "no repair ordered"},
        {"label": f"Evacuation and vacuum hold with {LONG.lower()}", "state": "later"},
    ]


def history() -> list[dict[str, object]]:
    """Return the life of a piece in words, one entry of each kind."""
    kinds = [
        ("connection", "Connected to the red estate car", "PAG 46, R-134a"),
        ("purge", "Purged on machine M-2", "52 g circulated in 11 min, final vacuum 3 mbar"),
        ("warning", "Entered late", "Happened on Friday, entered on Monday"),
        ("refusal", "Incident opened", "A clearance given in between would have been refused"),
        ("unknown", "Lent to another workshop", ""),
        ("plain", LONG, "Bought"),
        ("good", "Inspected", ""),
    ]
    return [
        {
            "kind": kind,
            "title": title,
            "text": text,
            "at": NOW - timedelta(days=4 * index),
            "who": "Mira Sandoval",
        }
        for index, (kind, title, text) in enumerate(kinds)
    ]


def rising() -> Plot:
    """Return a pressure that rises towards a level over ten minutes, with its fit and band."""
    curve = [(minute, 900 - 600 * 0.75**minute) for minute in range(11)]
    return Plot(
        title="Pressure after the pump was shut off",
        x_label="minutes",
        y_label="µm",
        marks=tuple(Mark(minute, height + (-1) ** minute * 12) for minute, height in curve),
        line=tuple(curve),
        band=tuple((minute, height - 30, height + 30) for minute, height in curve),
        level=Level(950, "limit 950 µm"),
    )


def life_rows() -> list[Row]:
    """Return the bars of sixty days."""

    def day(number: float) -> datetime:
        return NOW - timedelta(days=60 - number)

    touched = [
        Span(day(at), day(at + 0.1), oil, "Car")
        for at, oil in [(6, "poe"), (8, "poe"), (20, "pag"), (41, "pag")]
    ]
    carried = [
        Span(day(0), day(4), "unknown", "Carried"),
        Span(day(6), day(10), "poe", "Carried"),
        Span(day(20), day(23), "pag", "Carried"),
        Span(day(41), day(54), "several", "Carried"),
        Span(day(55), None, "out", ""),
    ]
    purges = [Tick(day(at), "Purged") for at in (4, 10, 23, 54)]
    return [Row("On a car", touched), Row("Carries", carried, purges)]


def messages() -> list[Message]:
    """Return one message of each level."""
    return [
        Message(constants.SUCCESS, "The purge is on record."),
        Message(constants.WARNING, "The reading was entered 40 minutes after it was taken."),
        Message(constants.ERROR, "Someone else connected hose set S-2 to the blue van at 10:21."),
        Message(constants.INFO, "The record is being made; it appears here."),
    ]


def middle_page() -> Page[int]:
    """Return a page that has others before and after it."""
    return Paginator(range(90), 30).page(2)


def context() -> dict[str, object]:
    """Return everything the style guide's template shows."""
    return {
        "long": LONG,
        "now": NOW,
        "life_start": NOW - timedelta(days=60),
        "places": [Thing(label=label, url="#", current=label == "Today", count=count)
                   for label, count in (("Today", 4), ("Equipment", 12), ("Records", 0))],
        "label_data": [
            ("Refrigerant", "R-1234yf"),
            ("Charge", "0.55 kg", "±0.02 kg, as on the label"),
            ("Oil", "POE", "grade as the shop entered it"),
            ("Drive", "Electric, high voltage"),
            ("Working voltage", None),
        ],
        "filled": filled_form(),
        "refused": refused_form(),
        "pieces": pieces(),
        "rows": reason_rows(),
        "steps": steps(),
        "history": history(),
        "life_rows": life_rows(),
        "rising": rising(),
        "notes_shown": messages(),
        "hazards": list(HAZARDS),
        "page": middle_page(),
        "marks": ["clear", "residue", "unknown", "out_of_service", "dedicated"],
        "states": ["done", "now", "blocked", "skipped", "later"],
        "colours": ["ground", "sheet", "sunken", "ink", "accent", "warning", "refusal"],
    }  # fmt: skip
