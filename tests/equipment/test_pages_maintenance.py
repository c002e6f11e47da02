"""The pages of maintenance: plans on the page of a piece, work on record, what is due."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord, PieceUse
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.models import Piece
from shopcool.core.unit_choices import MassUnit
from shopcool.people.models import User
from tests.attachments.files import photo
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn
from tests.sending import as_sent

People = dict[str, User]
DUE = "equipment:due"


def plan_of(
    workshop: Workshop, piece: Piece, work: Work = Work.SCALE_CHECK, **interval: Any
) -> MaintenancePlan:
    description = PlanDescription(work, Interval(**(interval or {"months": 1})), IntervalSource.SHOP_POLICY)
    return plan_add(actor=workshop.owner, piece=piece, description=description, now=workshop.now)


@pytest.fixture
def machine(workshop_clock: Workshop) -> Piece:
    return workshop_clock.machine()


@pytest.fixture
def plan(workshop_clock: Workshop, machine: Piece) -> MaintenancePlan:
    return plan_of(workshop_clock, machine)


def page(machine: Piece) -> str:
    return reverse("equipment:piece", args=[machine.code])


def work_page(plan: MaintenancePlan) -> str:
    return reverse("equipment:plan_work", args=[plan.piece.code, plan.pk])


def work(**changes: str) -> dict[str, str]:
    return {
        "done_on": "2026-03-02", "reference": "5", "reference_unit": "kg", "before": "5,0125",
        "before_unit": "kg", "submission_key": str(uuid4()), **changes,
    }  # fmt: skip


PLAN = {
    "work": "FILTER_DRIER", "months": "24", "mass": "68", "mass_unit": "kg", "source": "MAKER",
    "source_note": "p. 31", "when_overdue": "NOT_READY", "starts_on": "2026-01-15", "revision": "1",
}  # fmt: skip


class TestRights:
    @pytest.fixture
    def people(self, outsider: User, front_desk: User, technician: User, owner: User) -> People:
        return {"outsider": outsider, "front desk": front_desk, "technician": technician, "owner": owner}

    @pytest.mark.parametrize(
        ("name", "expected"),
        [
            ("due", [404, 200, 200, 200]),
            ("piece_work", [404, 200, 200, 200]),
            ("plan_add", [404, 403, 403, 200]),
            ("plan_work", [404, 403, 200, 200]),
            ("plan_change", [404, 403, 403, 200]),
            ("plan_end", [404, 403, 403, 200]),
            ("meter", [404, 403, 200, 200]),
        ],
    )
    def test_outsiders_find_nothing_and_colleagues_are_told(
        self, people: People, signed_in: SignedIn, plan: MaintenancePlan, name: str, expected: list[int]
    ) -> None:
        code = plan.piece.code
        arguments = {"due": [], "plan_work": [code, plan.pk], "plan_change": [code, plan.pk]}
        arguments["plan_end"] = [code, plan.pk]
        url = reverse(f"equipment:{name}", args=arguments.get(name, [code]))

        assert [signed_in(user).get(url).status_code for user in people.values()] == expected

    @pytest.mark.parametrize(("role", "status"), [("outsider", 404), ("front desk", 403)])
    def test_without_the_right_nothing_is_recorded(
        self, people: People, signed_in: SignedIn, plan: MaintenancePlan, role: str, status: int
    ) -> None:
        assert signed_in(people[role]).post(work_page(plan), work()).status_code == status
        assert not MaintenanceRecord.objects.exists()


class TestPlanning:
    def test_shows_what_is_due_what_remains_and_whose_word_it_is(
        self, machine: Piece, owner: User, signed_in: SignedIn
    ) -> None:
        url = reverse("equipment:plan_add", args=[machine.code])

        words = words_of(signed_in(owner).post(url, PLAN, follow=True))

        assert "Filter-drier of M-1 is planned." in words
        assert "Filter-drier Maker's manual: p. 31" in words
        assert "15 Jan 2028" in words
        assert "68.0 kg left of 68.0 kg" in words

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"months": "", "mass": ""}, "Say how often"),
            ({"mass": "68 bar"}, "bar"),
            ({"mass": "nan"}, "“nan” is missing or not a number."),
            ({"months": "0"}, "greater than or equal to 1"),
            ({"work": "OTHER"}, "Say what is to be done."),
            ({"title": "x" * 400}, "at most 120 characters"),
            ({"starts_on": "2027-01-01"}, "An interval can't begin in the future."),
        ],
    )
    def test_of_something_wrong_is_refused_beside_its_field_and_loses_nothing(
        self, machine: Piece, owner: User, signed_in: SignedIn, changes: dict[str, str], message: str
    ) -> None:
        url = reverse("equipment:plan_add", args=[machine.code])

        response = signed_in(owner).post(url, {**PLAN, **changes})

        assert response.status_code == 422
        assert message in words_of(response)
        assert 'value="p. 31"' in response.content.decode()
        assert not MaintenancePlan.objects.exists()

    def test_changing_keeps_the_work_and_refuses_a_page_that_is_out_of_date(
        self, plan: MaintenancePlan, owner: User, signed_in: SignedIn
    ) -> None:
        url = reverse("equipment:plan_change", args=[plan.piece.code, plan.pk])
        browser = signed_in(owner)

        browser.post(url, PLAN)
        late = browser.post(url, PLAN)

        plan.refresh_from_db()
        assert (plan.work, plan.every_months, plan.revision) == (Work.SCALE_CHECK, 24, 2)
        assert "Somebody changed or ended this plan meanwhile" in words_of(late)

    def test_saved_unchanged_by_somebody_with_other_units_means_exactly_the_same(
        self, plan: MaintenancePlan, owner: User, signed_in: SignedIn
    ) -> None:
        owner.mass_unit = MassUnit.OUNCE
        owner.save()
        plan.every_kg, plan.tolerance_kg = 150.3, 0.0123
        plan.save()
        url = reverse("equipment:plan_change", args=[plan.piece.code, plan.pk])
        browser = signed_in(owner)
        page = browser.get(url)

        answer = browser.post(url, as_sent(page.context["form"]))

        assert answer.status_code == 302
        # 1 lb is 0.45359237 kg, 1 oz a sixteenth of it (NIST SP 811:2008, appendix B)
        assert re.search(r'name="mass"[^>]*value="331\.35', page.content.decode())
        plan.refresh_from_db()
        assert (plan.every_kg, plan.tolerance_kg, plan.revision) == (150.3, 0.0123, 2)

    def test_usual_plans_are_offered_with_a_new_piece_and_only_what_is_ticked_is_planned(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        url = f"{reverse('equipment:register')}?kind={PieceKind.MACHINE.value}"
        browser = signed_in(owner)
        assert "Filter-drier: after 68 kg or 24 months, whichever is first (common practice)" in words_of(
            browser.get(url)
        )

        browser.post(url, {"code": "M-9", "name": "New", "refrigerant": "R134A", "plans": ["SCALE_CHECK"]})

        (planned,) = MaintenancePlan.objects.filter(piece__code="M-9")
        assert (planned.work, planned.source) == (Work.SCALE_CHECK, IntervalSource.COMMON_PRACTICE)

    def test_gloves_always_come_with_their_test(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        url = f"{reverse('equipment:register')}?kind={PieceKind.GLOVES.value}"
        gloves = {"code": "P-1", "name": "Size 9", "glove_class": "0", "last_done_on": "2026-02-01"}

        words = words_of(signed_in(owner).post(url, gloves, follow=True))

        assert "Glove test" in words
        assert "1 Feb 2027" in words
        assert "Unknown residue" not in words
        assert "Declare a contact" not in words


class TestWork:
    def test_of_a_scale_check_says_how_far_the_scale_was_off(
        self, plan: MaintenancePlan, technician: User, signed_in: SignedIn
    ) -> None:
        words = words_of(signed_in(technician).post(work_page(plan), work(), follow=True))

        assert "Scale check of M-1 is on record." in words
        assert "Scale check: Passed Reference 5 kg, Before 5,0125 kg" in words
        assert "It is within ±15 g of the reference mass." in words

    def test_that_failed_is_seen_on_the_board_at_once(
        self, plan: MaintenancePlan, technician: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)
        browser.post(work_page(plan), work(before="5,0200"))

        assert "M-1 failed on 2 Mar 2026: Scale check." in words_of(browser.get(reverse("equipment:board")))

    def test_pressed_twice_is_recorded_once(
        self, plan: MaintenancePlan, technician: User, signed_in: SignedIn
    ) -> None:
        sent, browser = work(), signed_in(technician)
        for _press in range(2):
            assert browser.post(work_page(plan), sent).status_code == 302

        assert MaintenanceRecord.objects.count() == 1

    def test_leads_on_to_its_photos_when_asked_to_and_from_there_back_to_the_record(
        self, plan: MaintenancePlan, technician: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)

        following = browser.post(work_page(plan), work(attach="yes"))["Location"]

        record = MaintenanceRecord.objects.get()
        assert following == reverse("attachments:of", args=["work", record.pk])
        sent = {"chosen": SimpleUploadedFile("a.jpg", photo()), "submission_key": uuid4(), "caption": ""}
        assert browser.post(following, sent)["Location"] == f"{page(plan.piece)}#work-{record.sequence}"

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"before": ""}, "This field is required."),
            ({"before": "5,012"}, "can mean 5.012 or 5012"),
            ({"done_on": "2026-03-03"}, "This lies in the future."),
            ({"reference": "0"}, "A reference mass weighs more than nothing."),
        ],
    )
    def test_of_something_wrong_is_refused_beside_its_field(
        self,
        plan: MaintenancePlan,
        technician: User,
        signed_in: SignedIn,
        changes: dict[str, str],
        message: str,
    ) -> None:
        response = signed_in(technician).post(work_page(plan), work(**changes))

        assert response.status_code == 422
        assert message in words_of(response)
        assert not MaintenanceRecord.objects.exists()

    def test_is_corrected_by_the_owner_and_both_records_stay(
        self, plan: MaintenancePlan, owner: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(owner)
        browser.post(work_page(plan), work())
        url = reverse("equipment:work_correct", args=["M-1", 1])
        assert 'value="5.0125"' in browser.get(url).content.decode().replace("5,0125", "5.0125")

        words = words_of(browser.post(url, work(before="5", reason="Read from the wrong line"), follow=True))

        assert "Corrected by a later record: Read from the wrong line" in words
        assert MaintenanceRecord.objects.count() == 2

    def test_the_hour_meter_is_read_on_the_page_of_a_machine(
        self, machine: Piece, technician: User, signed_in: SignedIn
    ) -> None:
        url = reverse("equipment:meter", args=["M-1"])
        signed_in(technician).post(url, {"meter": "412,5", "meter_unit": "h"})

        assert PieceUse.objects.get().meter_hours == 412.5


class TestDueList:
    def test_sorts_by_urgency_and_says_what_is_not_ready(
        self, workshop_clock: Workshop, machine: Piece, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        for days, work_kind in ((3, Work.FILTER_DRIER), (10, Work.LEAK_CHECK), (28, Work.PUMP_OIL)):
            plan_of(workshop, machine, work_kind, days=days)
        workshop.later(5 * 24 * 60)

        words = words_of(signed_in(technician).get(reverse(DUE)))

        overdue, week, month = (
            words.index(text) for text in ("Overdue 1", "Within a week 1", "Within a month 1")
        )
        assert (
            overdue < words.index("Filter-drier of M-1 Maintenance 5 Mar 2026 2 days ago, not ready") < week
        )
        assert week < words.index("Hose and seal leak check of M-1 Maintenance 12 Mar 2026 in 5 days") < month
        assert month < words.index("Vacuum pump oil of M-1 Maintenance 30 Mar 2026 in 23 days")

    def test_is_narrowed_by_kind_and_by_piece_or_person(
        self, workshop_clock: Workshop, machine: Piece, technician: User, signed_in: SignedIn
    ) -> None:
        plan_of(workshop_clock, machine, days=3)
        plan_of(workshop_clock, workshop_clock.piece("H-7"), Work.LEAK_CHECK, days=3)
        browser = signed_in(technician)

        assert "M-1" not in words_of(browser.get(reverse(DUE), {"q": "h-7"}))
        assert "Hose and seal leak check of H-7" in words_of(browser.get(reverse(DUE), {"q": "h-7"}))
        nothing = words_of(browser.get(reverse(DUE), {"kind": "CERTIFICATE"}))
        assert "Nothing of this is due within a month" in nothing

    def test_asks_the_same_number_of_questions_however_much_is_due(
        self, workshop_clock: Workshop, machine: Piece, technician: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)
        plan_of(workshop_clock, machine, days=3)
        browser.get(reverse(DUE))
        with CaptureQueriesContext(connection) as few:
            browser.get(reverse(DUE))
        for number in range(10):
            plan_of(workshop_clock, workshop_clock.piece(f"X-{number}"), Work.LEAK_CHECK, days=3)

        with CaptureQueriesContext(connection) as many:
            browser.get(reverse(DUE))

        assert len(many) == len(few) <= 9


class TestInstruments:
    def test_stand_apart_on_the_board_without_residue(
        self, workshop_clock: Workshop, machine: Piece, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        tester = workshop.piece("T-1", PieceKind.INSULATION_TESTER)
        workshop.piece("U-1", PieceKind.VACUUM_GAUGE)
        plan_of(workshop, tester, Work.TESTER_CALIBRATION, days=1)
        workshop.later(3 * 24 * 60)

        words = words_of(signed_in(technician).get(reverse("equipment:board")))

        apart = words[words.index("Instruments and protection 2") :]
        assert "T-1 Piece T-1 Out of use Tester calibration of T-1 was due on 3 Mar 2026." in apart
        assert "U-1 Piece U-1 In service Nothing stands against it." in apart
        assert "Unknown residue" not in apart

    def test_a_warning_leaves_an_instrument_in_use(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        tester = workshop_clock.piece("T-1", PieceKind.INSULATION_TESTER)
        plan_add(
            actor=workshop_clock.owner, piece=tester, now=workshop_clock.now,
            description=PlanDescription(
                Work.TESTER_CALIBRATION, Interval(days=1), IntervalSource.SHOP_POLICY, WhenOverdue.WARN,
                starts_on=workshop_clock.now.date() - timedelta(days=9),
            ),
        )  # fmt: skip

        words = words_of(signed_in(technician).get(page(tester)))

        assert "Due Tester calibration of T-1 was due on 22 Feb 2026." in words
        assert str(WorkOutcome.PASSED.label) not in words
