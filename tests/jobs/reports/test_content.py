"""What the record of a job tells, before it is set in type."""

from __future__ import annotations

from datetime import date

from equipment.choices import Verdict
from equipment.incidents import Incident
from equipment.models import Clearance
from jobs.models import StepRecord
from jobs.reports import gather, job_document
from jobs.services.appending import RULES_VERSION
from shopcool.core.documents import Fact, Tone
from shopcool.core.records import StreamHead
from shopcool.people.models import Competence, CompetenceKind
from shopcool.shop.models import Jurisdiction
from shopcool.shop.selectors import shop_get
from tests.jobs.bay import Bay
from tests.jobs.reports.visit_told import (
    REASON,
    document_of,
    section,
    told,
)


class TestGathering:
    def test_leaves_nothing_to_be_read_afterwards(self, closed_bay, django_assert_num_queries):
        gathered = gather(job_id=closed_bay.job.pk, now=closed_bay.workshop.now)

        with django_assert_num_queries(0):
            job_document(gathered, requested_by="Tilda")


class TestOverrides:
    def test_stand_before_everything_else_with_the_written_reason_and_what_was_refused(self, closed_bay):
        alert = document_of(closed_bay).alerts[0]

        refused = [reason["sentence"] for reason in Clearance.objects.latest("pk").reasons]
        assert REASON in alert.text
        assert alert.stamp.who == "Orla"
        assert [remark.sentence for remark in alert.remarks] == refused


class TestClearances:
    def test_tell_every_reason_with_fix_source_and_version_of_the_rules(self, closed_bay):
        text = told(section(document_of(closed_bay), "Clearances"))

        decisions = Clearance.objects.order_by("pk")
        assert [row.verdict for row in decisions] == [Verdict.REFUSED, Verdict.OVERRIDDEN]
        for row in decisions:
            assert str(Verdict(row.verdict).label) in text
            assert f"rules {row.rules_version}" in text
            assert row.hash[:16] in text
            for reason in row.reasons:
                assert all(reason[part] in text for part in ("sentence", "fix", "source"))

    def test_show_the_pieces_with_residue_and_documents_as_they_were_then(self, closed_bay):
        refusal = section(document_of(closed_bay), "Clearances").entries[0]

        marks = {fact.label: fact.value for fact in refusal.facts}
        assert marks == {
            "H-1 Piece H-1": "Clear",
            "M-1 Piece M-1": "Clear",
            "S-1 Piece S-1": "Unknown residue",
        }
        machine = next(fact for fact in refusal.facts if fact.label.startswith("M-1"))
        assert "Certificate M-1-CERTIFICATE, R-1234yf, high voltage, until 1 Jan 2027" in machine.note


class TestEquipment:
    def test_names_who_connected_what_and_the_last_purge_before(self, closed_bay):
        (table,) = section(document_of(closed_bay), "What was on the vehicle").tables

        rows = {row[0].split()[0]: row for row in table.rows}
        assert rows["H-1"][1] == "2 Mar 2026, 10:50\nOrla"
        assert rows["H-1"][3] == "2 Mar 2026, 09:10\nTilda"
        assert rows["S-1"][3] == "none on record"

    def test_tells_purges_with_readings_limits_and_why_one_does_not_count(self, closed_bay):
        weak, good = section(document_of(closed_bay), "Line purges").entries

        facts = {fact.label: fact for fact in weak.facts}
        assert (weak.word, weak.tone) == ("does not count", Tone.REFUSAL)
        assert facts["Mass circulated"] == Fact(
            "Mass circulated", "100 g", "entered: 17.6 oz, at least 300 g"
        )
        assert facts["Duration"] == Fact("Duration", "not read", "at least 3 min", known=False)
        assert "The duration was not read." in [remark.sentence for remark in weak.remarks]
        assert (good.word, good.tone) == ("counts", Tone.GOOD)
        assert "M-1 Piece M-1, H-1 Piece H-1, S-1 Piece S-1" in told(good)


class TestSteps:
    def test_strike_what_was_corrected_and_tell_why(self, closed_bay):
        old, new = section(document_of(closed_bay), "The work, step by step").entries[:2]

        assert (old.struck, new.struck) == (True, False)
        assert "does not cool" in told(old)
        assert "squeaks in summer" in told(new)
        assert new.text == "Corrects the entry of 09:30. Reason: “misheard the customer”"
        assert new.stamp.note.startswith("entered 2 Mar 2026")

    def test_show_what_was_typed_beside_what_it_means(self, closed_bay):
        facts = _facts(closed_bay)

        assert Fact("Recovered refrigerant", "0,48 kg", "480 g") in facts
        assert Fact("Low side", "71 psi", "4.90 bar(g), 5.91 bar(a), on a gauge") in facts
        assert Fact("Insulation resistance", "> 550 MΩ") in facts
        assert Fact("Expected refrigerant", "99,7 %") in facts

    def test_tell_every_finding_with_limit_source_and_version(self, closed_bay):
        text = told(section(document_of(closed_bay), "The work, step by step"))

        findings = [finding for record in StepRecord.objects.all() for finding in record.answer["findings"]]
        assert len(findings) > 10
        for finding in findings:
            assert all(finding[part] in text for part in ("sentence", "limit", "source"))
        assert text.count(f"rules {RULES_VERSION}") == StepRecord.objects.count()

    def test_put_the_readings_before_and_after_side_by_side(self, closed_bay):
        (table,) = section(document_of(closed_bay), "Readings before and after").tables

        assert table.columns == ("", "Before", "After")
        assert table.rows[1] == (
            "Low side",
            "71 psi\n4.90 bar(g), 5.91 bar(a), on a gauge",
            "2.1 bar\n2.10 bar(g), 3.11 bar(a), on a gauge",
        )


class TestPeople:
    def test_stand_with_their_work_and_their_competences(self, closed_bay):
        (table,) = section(document_of(closed_bay), "People").tables

        work, competences = {row[0]: row[1:] for row in table.rows}["Orla"]
        assert work == "Clearance and connection, override of a refusal"
        assert "Refrigerant handling: orla-REFRIGERANT, Board, 1 Jan 2024 to no end" in competences

    def test_are_said_to_lack_a_competence_that_was_not_in_date_on_the_day(self, closed_bay):
        Competence.objects.filter(user__username="tilda", kind=CompetenceKind.HIGH_VOLTAGE).update(
            valid_until=date(2026, 3, 1)
        )

        text = told(section(document_of(closed_bay), "People"))

        assert "1 Jan 2024 to 1 Mar 2026 – not in date on 2 Mar 2026" in text


class TestVehicle:
    def test_gives_label_data_as_typed_and_in_the_units_of_the_workshop(self, closed_bay):
        circuit = section(document_of(closed_bay), "Vehicle and visit").groups[2]

        assert Fact("Label charge", "550 g ± 20 g", "entered as 0,55 kg ± 20 g") in circuit.facts

    def test_says_what_nobody_knows(self, closed_bay):
        text = section(document_of(closed_bay), "Vehicle and visit")

        unknown = {fact.label for group in text.groups for fact in group.facts if not fact.known}
        assert {"VIN", "Model year", "Oil in the circuit", "Where the data comes from"} <= unknown

    def test_uses_the_paper_of_the_country(self, closed_bay):
        assert document_of(closed_bay).paper == "a4"

        shop = shop_get()
        shop.jurisdiction = Jurisdiction.US
        shop.save()

        assert document_of(closed_bay).paper == "us-letter"


class TestEnd:
    def test_of_a_closed_job_gives_closing_purge_and_next_service(self, closed_bay):
        document = document_of(closed_bay)

        assert document.head.state == "This job is closed: 2 Mar 2026, 13:10."
        text = told(section(document, "The end of the job"))
        assert "every piece that needs one was purged after it left the vehicle" in text
        assert "2 Mar 2028" in text

    def test_gives_the_cautions_of_the_work_and_defers_to_the_vehicle_maker(self, closed_bay):
        cautions = section(document_of(closed_bay), "Cautions")

        sentences = [remark.sentence for remark in cautions.remarks]
        assert any("High voltage can kill" in sentence for sentence in sentences)
        assert any("Flammable refrigerant" in sentence for sentence in sentences)
        assert "vehicle maker's instructions, local codes and licensed practice come first" in cautions.text


class TestIncidents:
    def test_that_are_open_stand_at_the_beginning(self, closed_bay):
        incident = Incident.objects.get()

        alert = document_of(closed_bay).alerts[1]

        assert (alert.title, alert.text) == ("Open incident", incident.get_kind_display())

    def test_that_are_closed_say_what_was_done(self, closed_bay):
        owner = closed_bay.workshop.owner
        Incident.objects.update(
            status="CLOSED",
            resolution="Insulation measured twice.",
            closed_by=owner.user_id,
            closed_at=closed_bay.workshop.now,
        )

        document = document_of(closed_bay)

        assert [alert.title for alert in document.alerts] == [
            "Connected against a refusal, on the owner's responsibility"
        ]
        assert Fact("What was done", "Insulation measured twice.") in (
            section(document, "Incidents").entries[0].facts
        )


class TestProof:
    def test_names_the_heads_of_the_chains_that_the_database_keeps(self, closed_bay):
        text = told(section(document_of(closed_bay), "About this record"))

        number = closed_bay.job.number
        assert StreamHead.objects.get(stream=f"step:{number}").hash in text
        assert StreamHead.objects.get(stream=f"clearance:job:{number}").hash in text


def _facts(bay: Bay) -> list[Fact]:
    entries = section(document_of(bay), "The work, step by step").entries
    return [fact for entry in entries for fact in entry.facts]
