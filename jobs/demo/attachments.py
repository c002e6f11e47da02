"""What the people of the invented workshop photographed and filed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from equipment.attachments import incident_parent, lot_parent, piece_parent, work_parent
from equipment.incidents import Incident
from equipment.maintenance.models import MaintenanceRecord
from equipment.oil.models import OilLot
from jobs.attachments import job_parent
from jobs.demo.pictures import certificate, glass_photo, hose_photo, label_photo
from jobs.demo.story import Story
from jobs.models import Job
from shopcool.attachments.parents import Parent
from shopcool.attachments.preparing import Upload
from shopcool.attachments.services import attachment_add
from shopcool.vehicles.attachments import vehicle_parent

TEST = (
    "Insulating gloves P-1, class 0, size 9",
    "Proof test 5 kV AC, 3 min: passed",
    "Leakage within the limit of the class",
    "Stamped on the cuff with this month",
)


@dataclass(frozen=True)
class Filing:
    """What is attached at a moment of the story."""

    story: Story
    now: datetime

    def tell(self) -> None:
        """Attach photos to pieces, a car, an incident and a lot, and the paper of a glove test."""
        car = self.story.circuits["electric"].vehicle
        label = label_photo(("R-1234yf", "0,550 kg ± 0,02 kg", "POE oil only", "HIGH VOLTAGE", "No dye"))
        self._attach(vehicle_parent(car), "IMG_2041.jpg", label, "Label under the bonnet")
        hose, glass = piece_parent(self.story.pieces["H-1"]), piece_parent(self.story.pieces["G-1"])
        self._attach(hose, "IMG_2057.jpg", hose_photo(), "Jacket worn at 1.2 m, not through yet", "tomasz")
        self._attach(glass, "IMG_2060.jpg", glass_photo(), "Clear oil, few bubbles")
        test = MaintenanceRecord.objects.select_related("piece").filter(piece__code="P-1").latest("pk")
        paper = certificate("Harbour Glove Test House", TEST)
        self._attach(work_parent(test), "P-1 test report.pdf", paper, "Report of the test house")
        lot = lot_parent(OilLot.objects.get(code="L-2"))
        self._attach(lot, "IMG_2063.jpg", label_photo(("POE 68", "Batch TQ-4590", "500 ml")), "Its label")
        self._about_the_incident()

    def _about_the_incident(self) -> None:
        incident = Incident.objects.order_by("pk").first()
        if incident is not None:
            job = Job.objects.select_related("circuit__vehicle").get(number=incident.job_number)
            for parent in (incident_parent(incident), job_parent(job)):
                self._attach(parent, "IMG_2049.jpg", glass_photo(), "Sample taken after the late entry")

    def _attach(self, parent: Parent, name: str, content: bytes, caption: str, who: str = "anneke") -> None:
        attachment_add(
            actor=self.story.people[who],
            parent=parent,
            upload=Upload(name, content),
            caption=caption,
            submission_key=uuid4(),
            now=self.now,
        )


def tell(story: Story, now: datetime) -> None:
    """Attach what was photographed by a moment of the story."""
    Filing(story, now).tell()
