"""What must not be overlooked, how the job ended, and what the record is and is not."""

from __future__ import annotations

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.choices import IncidentStatus
from equipment.incidents import Incident
from jobs.choices import StepKind
from jobs.reports.clearances import reason_remarks, refused_sentences
from jobs.reports.gathering import Gathered
from jobs.reports.steps import left_out, unfinished
from jobs.reports.vehicle import known
from jobs.reports.words import clock_words, day_words, moment_words
from jobs.steps.cautions import cautions
from shopcool.core.documents import Entry, Fact, Group, Remark, Section, Stamp, Tone


def cautions_section(gathered: Gathered) -> Section:
    """Return the cautions of all steps of the job, each once."""
    facts = gathered.situation.case.facts
    found: dict[str, None] = {}
    for state in gathered.situation.states:
        if state.required or state.is_done:
            found |= dict.fromkeys(caution.sentence for caution in cautions(state.kind, facts))
    text = _(
        "They stand at each step on the screen as well. The vehicle maker's instructions, local codes and "
        "licensed practice come first."
    )
    remarks = tuple(Remark(Tone.WARNING, _("Caution"), sentence) for sentence in found)
    return Section(_("Cautions"), text, remarks=remarks)


def incident_alerts(gathered: Gathered) -> tuple[Entry, ...]:
    """Return the incidents that are still open."""
    still_open = [row for row in gathered.incidents if row.status == IncidentStatus.OPEN]
    return tuple(
        Entry(
            stamp=_raised(row),
            title=_("Open incident"),
            tone=Tone.REFUSAL,
            text=str(row.get_kind_display()),
            remarks=refused_sentences(row.reasons),
        )
        for row in still_open
    )


def incidents_section(gathered: Gathered) -> Section:
    """Return every incident about this job, and what was done about it."""
    text = "" if gathered.incidents else _("No incident is on record for this job.")
    return Section(_("Incidents"), text, entries=tuple(_incident(row) for row in gathered.incidents))


def ending_section(gathered: Gathered) -> Section:
    """Return closing purge, next service, what is not done and what this job did not need."""
    day = gathered.job.next_service_on
    facts = [
        Fact(_("Closing purge"), *_closing_purge(gathered)),
        Fact(_("Next service"), day_words(day) if day else _("not set"), known=day is not None),
    ]
    missing = unfinished(gathered)
    if missing:
        facts.append(Fact(_("Not done"), missing))
    groups = [Group(_("At the end"), tuple(facts), wide=True)]
    omitted = left_out(gathered)
    if omitted:
        groups.append(Group(_("Steps that were not part of this job"), omitted, wide=True))
    return Section(_("The end of the job"), groups=tuple(groups))


def about_section(gathered: Gathered, requested_by: str) -> Section:
    """Return what the record is, what it is not, and how to check it."""
    text = "\n".join(
        (
            _(
                "This record tells what people entered and what the rules of the workshop said about it at "
                "that time. Entries are never changed: a mistake is corrected by a later entry with a "
                "reason, and the old one stays. What was typed stands beside what it means."
            ),
            _(
                "It does not prove that an instrument was right or that an entry is true, and it is no "
                "certificate of the vehicle, its refrigerant or its high-voltage system. The vehicle maker's "
                "data and instructions, local codes and licensed practice come first."
            ),
            _(
                "Every entry carries the SHA-256 of the one before it. The workshop can compute all chains "
                "again and compare their heads with those below."
            ),
        )
    )
    made = Group(_("Made"), _made(gathered, requested_by), wide=True)
    groups = (made, Group(_("Heads of the chains"), _heads(gathered), wide=True))
    return Section(_("About this record"), text, groups=groups)


def head_hash(gathered: Gathered) -> str:
    """Return the head of the chain of this job's step records as told here, empty before the first one."""
    records = gathered.situation.records
    return max(records, key=lambda record: record.sequence).hash if records else ""


def _closing_purge(gathered: Gathered) -> tuple[str, str, bool]:
    state = gathered.situation.state(StepKind.CLOSING_PURGE)
    due = ", ".join(str(piece) for piece in gathered.situation.purges_due)
    if due:
        return _("still due for %(pieces)s") % {"pieces": due}, "", True
    if state.is_done:
        return _("every piece that needs one was purged after it left the vehicle"), "", True
    return _("not due: nothing was taken off the vehicle"), "", False


def _raised(incident: Incident) -> Stamp:
    return Stamp(clock_words(incident.raised_at), day_words(incident.raised_at), "")


def _incident(incident: Incident) -> Entry:
    closed = incident.status == IncidentStatus.CLOSED
    facts = [Fact(_("State"), str(incident.get_status_display()))]
    if closed and incident.closed_at:
        facts.append(known(_("What was done"), incident.resolution))
        facts.append(known(_("Closed by"), incident.closed_by, moment_words(incident.closed_at)))
    return Entry(
        stamp=_raised(incident),
        title=str(incident.get_kind_display()),
        tone=Tone.NOTE if closed else Tone.REFUSAL,
        facts=tuple(facts),
        remarks=reason_remarks(incident.reasons),
    )


def _made(gathered: Gathered, requested_by: str) -> tuple[Fact, ...]:
    zone = timezone.get_current_timezone_name()
    return (
        Fact(_("At"), moment_words(gathered.now), zone),
        known(_("For"), requested_by),
        Fact(_("Step records"), str(len(gathered.records))),
        Fact(_("Clearances"), str(len(gathered.clearances))),
        Fact(_("Line purges"), str(len(gathered.purges))),
    )


def _heads(gathered: Gathered) -> tuple[Fact, ...]:
    clearances = gathered.clearances
    return (
        _head(_("Step records"), head_hash(gathered)),
        _head(_("Clearances"), clearances[-1].hash if clearances else ""),
    )


def _head(label: str, chain_hash: str) -> Fact:
    return Fact(label, chain_hash or _("no entry yet"), known=bool(chain_hash))
