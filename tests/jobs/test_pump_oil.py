"""A vacuum pump that stopped with an open valve, walked through page by page to the end of the job."""

from __future__ import annotations

import pytest
from django.urls import reverse

from equipment.models import Exposure
from jobs.choices import StepKind
from tests.jobs.bay import Bay
from tests.jobs.browser import Tablet, links, words

pytestmark = pytest.mark.django_db


def _evacuated(bay: Bay, tablet: Tablet, valve_closed_first: str) -> None:
    raw = bay.raw(StepKind.EVACUATION, valve_closed_first=valve_closed_first)
    assert tablet.record(bay.job, StepKind.EVACUATION, raw).status_code == 302


def test_an_open_valve_leads_through_purge_and_new_evacuation_to_the_insulation(
    bay: Bay, technician_tablet: Tablet
) -> None:
    tablet, number = technician_tablet, bay.job.number
    bay.up_to(StepKind.RECOVERY)

    _evacuated(bay, tablet, "no")

    tainted = Exposure.objects.filter(kind="PUMP_OIL_SUSPECTED").values_list("piece__code", flat=True)
    assert set(tainted) == {"M-1", "H-1"}
    blocked = tablet.job(bay.job)
    assert "This blocks the car Something unsafe for high voltage may have entered: H-1, M-1." in words(
        blocked
    )
    disconnection = reverse("jobs:step", args=[number, StepKind.DISCONNECTION])
    assert disconnection in links(blocked)

    ticked = {"pieces": [bay.machine.pk, bay.hoses.pk]}
    tablet.send(reverse("jobs:disconnect", args=[number]), ticked)
    refused = tablet.send(reverse("jobs:clearance", args=[number]), ticked)
    assert "must not go on this car." in words(refused)
    assert any(link.startswith(reverse("equipment:purge")) for link in links(refused))

    bay.workshop.purge(bay.machine, bay.hoses)
    assert tablet.send(reverse("jobs:clearance", args=[number]), ticked).status_code == 302
    assert "Evacuation and vacuum hold Now" in words(tablet.job(bay.job))
    _evacuated(bay, tablet, "yes")
    bay.record(StepKind.OIL)
    bay.record(StepKind.CHARGE)
    assert "Insulation test Now" in words(tablet.job(bay.job))
    bay.record(StepKind.INSULATION)
    assert "Insulation test Done" in words(tablet.job(bay.job))
