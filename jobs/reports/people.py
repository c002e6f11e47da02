"""Who did what, and what they were qualified for on the days they did it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.choices import Verdict
from jobs.reports.gathering import Gathered
from jobs.reports.words import day_words
from shopcool.core.documents import Section, Table
from shopcool.people.models import Competence


@dataclass
class _Person:
    """A person's part in the job. ``did`` keeps the order in which things were first done."""

    name: str
    did: dict[str, None] = field(default_factory=dict)
    days: set[date] = field(default_factory=set)


def people_section(gathered: Gathered) -> Section:
    """Return one row for each person: work, and competences with number, body and dates."""
    people: dict[int, _Person] = {}
    for user_id, name, deed, moment in _deeds(gathered):
        person = people.setdefault(user_id, _Person(name))
        person.did[deed] = None
        person.days.add(timezone.localtime(moment).date())
    rows = tuple(
        (person.name, ", ".join(person.did), _competences(gathered.competences.get(user_id, ()), person.days))
        for user_id, person in people.items()
    )
    columns = (_("Person"), _("Work on this job"), _("Competence"))
    return Section(_("People"), tables=(Table(columns, (3, 5, 6), rows),) if rows else ())


def _deeds(gathered: Gathered) -> Iterator[tuple[int, str, str, datetime]]:
    for row in gathered.records:
        record = row.record
        if record.recorded_by_id:
            label = str(row.kind.label)
            yield record.recorded_by_id, record.recorded_by_name, label, record.occurred_at
    for clearance in gathered.clearances:
        if clearance.recorded_by_id:
            overridden = clearance.verdict == Verdict.OVERRIDDEN
            deed = _("override of a refusal") if overridden else _("clearance")
            yield clearance.recorded_by_id, clearance.recorded_by_name, deed, clearance.occurred_at
    for purge in gathered.purges:
        if purge.recorded_by_id:
            yield purge.recorded_by_id, purge.recorded_by_name, _("line purge"), purge.occurred_at


def _competences(held: Iterable[Competence], days: set[date]) -> str:
    lines = [_competence(competence, days) for competence in held]
    return "\n".join(lines) or _("none on file")


def _competence(competence: Competence, days: set[date]) -> str:
    until = day_words(competence.valid_until) if competence.valid_until else _("no end")
    words = _("%(kind)s: %(number)s, %(body)s, %(issued)s to %(until)s") % {
        "kind": competence.get_kind_display(),
        "number": competence.number,
        "body": competence.body,
        "issued": day_words(competence.issued_on),
        "until": until,
    }
    missing = sorted(day for day in days if not _in_date(competence, day))
    if not missing:
        return words
    return _("%(words)s – not in date on %(days)s") % {
        "words": words,
        "days": ", ".join(day_words(day) for day in missing),
    }


def _in_date(competence: Competence, day: date) -> bool:
    withdrawn = competence.withdrawn_at
    if withdrawn is not None and timezone.localtime(withdrawn).date() <= day:
        return False
    return competence.issued_on <= day and (competence.valid_until is None or day <= competence.valid_until)
