"""The carry-over estimate of the clearance panel: shares against both limits, and never a permission."""

from __future__ import annotations

import pytest
from django.urls import reverse

from jobs.carrying import Assumed, Met, carrying_of, estimate
from jobs.pages.carrying import carry_words
from shopcool.vehicles.choices import Drive, Lubricant
from tests.jobs.bay import BEFORE_CONNECTION
from tests.jobs.browser import part, words

HTMX = {"HX-Request": "true"}


class TestEstimate:
    def test_without_a_purge_is_all_that_a_piece_keeps_against_every_limit(self):
        # 2.0 g of PAG are 1.64 % of 120 g of POE and 0.40 % of 500 g of refrigerant: arithmetic of shares.
        found = estimate([Met("H-1", ())], oil_m3=120e-6, charge_kg=0.5)

        shares = {check.limit.name: check.share for check in found.worst.checks}
        assert shares["foreign oil in the compressor's oil"] == pytest.approx(0.0164, abs=1e-4)
        assert shares["residual oil in the charge, 2007"] == pytest.approx(0.0040, abs=1e-4)

    def test_keeps_both_editions_of_the_limit_with_how_sure_they_are(self):
        sentence = carry_words(estimate([Met("H-1", ())], 120e-6, 0.5)).sentence

        assert (
            "Residual oil in the charge, 2007: at most 0.40 %, within 1.0 % (read in the text)." in sentence
        )
        assert (
            "Residual oil in the charge, later editions: up to 0.40 %, above 0.1 % (from memory)." in sentence
        )

    def test_falls_with_every_purge_and_says_what_it_assumes(self):
        # Four volumes flow through: e⁻⁴ of the part that is reached stays; 30 % are reached at worst.
        once = estimate([Met("H-1", (240e-6,))], 120e-6, 0.5)

        assert once.best.residue_after_kg == pytest.approx(2e-3 * 0.0183, rel=1e-2)
        assert once.worst.residue_after_kg == pytest.approx(2e-3 * (1 - 0.3 * (1 - 0.0183)), rel=1e-3)
        assert (
            "An estimate until a rinsed hose is weighed; it permits nothing." in carry_words(once).assumptions
        )

    def test_of_two_pieces_is_added_up(self):
        both = estimate([Met("H-1", ()), Met("S-1", ())], 120e-6, 0.5)

        assert both.worst.residue_after_kg == pytest.approx(4e-3)

    def test_below_every_limit_only_informs(self):
        often = carry_words(estimate([Met("H-1", (1e-3,) * 12)], 120e-6, 0.5))

        assert (often.tone, often.advice) == ("unknown", "")


@pytest.fixture
def panel(bay):
    """The address of the panel of an electric car, with hoses that were on a belt-driven one before."""
    workshop = bay.workshop
    belt = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
    assert workshop.connect(belt, bay.machine, bay.hoses).connected
    workshop.disconnect()
    bay.checked_in()
    for kind in BEFORE_CONNECTION:
        bay.record(kind)
    return reverse("jobs:clearance", args=[bay.job.number])


class TestPanel:
    def test_never_turns_a_refusal_into_a_permission(self, bay, technician_tablet, panel):
        response = technician_tablet.send(
            panel, {"pieces": [bay.hoses.pk, bay.machine.pk], "check": "yes"}, **HTMX
        )

        text = words(response)
        assert "Refused" in text
        assert "4 g of PAG could still come along from H-1 (0 purges since), M-1 (0 purges since)." in text
        assert "Connect these" not in text

    def test_after_the_purge_stands_beside_the_permission_as_a_warning(self, bay, technician_tablet, panel):
        bay.workshop.purge(bay.machine, bay.hoses)

        response = technician_tablet.send(
            panel, {"pieces": [bay.hoses.pk, bay.machine.pk], "check": "yes"}, **HTMX
        )

        decision = part(response, "decision")
        assert "M-1 (1 purge since)" in words(response)
        assert "Purge again before the connection" in words(response)
        assert "Connect these 2" in words(response)
        assert "Oil carried over" in decision

    @pytest.mark.django_db
    def test_is_silent_about_pieces_that_never_met_conductive_oil(self, bay):
        assert carrying_of(bay.job.circuit, [bay.hoses.pk, bay.machine.pk]) is None

    @pytest.mark.django_db
    def test_is_silent_about_a_belt_driven_circuit(self, bay, panel):
        belt = bay.workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)

        assert carrying_of(belt, [bay.hoses.pk]) is None


class TestMeasuredHoses:
    def test_are_reckoned_with_what_they_hold(self):
        # Two volumes of 120 ml flow through: e⁻² of the part that is reached stays.
        found = estimate([Met("H-1", (240e-6,), volume_m3=120e-6)], 120e-6, 0.5)

        assert found.best.residue_after_kg == pytest.approx(2e-3 * 0.1353, rel=1e-3)
        assert "120 ml (H-1, measured)" in carry_words(found).assumptions

    def test_use_what_the_shop_assumes_otherwise(self):
        assumed = Assumed(oil_kg=1e-3, volume_m3=120e-6, mixing=0.5)

        found = estimate([Met("S-1", (240e-6,))], 120e-6, 0.5, assumed)

        assert found.worst.residue_after_kg == pytest.approx(1e-3 * (1 - 0.5 * (1 - 0.1353)), rel=1e-3)
        assert "1 g of oil in each drained piece of 120 ml" in carry_words(found).assumptions
