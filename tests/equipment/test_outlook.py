"""What will be out tomorrow and this week, told from what is due."""

from __future__ import annotations

from datetime import date, timedelta

from equipment.due import DueItem, DueKind
from equipment.pages.outlook import RunsOut, outlook_of

TODAY = date(2026, 3, 2)


def due(code: str, days: int, *, blocks: bool = True) -> DueItem:
    return DueItem(
        key=f"document:{code}", kind=DueKind.CALIBRATION, what=f"Scale calibration of {code}",
        due_on=TODAY + timedelta(days=days), blocks=blocks, piece_id=1, piece_code=code,
    )  # fmt: skip


def codes(rows: tuple[RunsOut, ...]) -> list[str]:
    return [row.code for row in rows]


class TestOutlook:
    def test_a_piece_is_ready_on_its_last_day_and_out_on_the_next(self) -> None:
        found = outlook_of([due("M-1", days=0), due("M-2", days=1)], TODAY)

        assert codes(found.tomorrow) == ["M-1"]
        assert found.tomorrow[0].out_from == date(2026, 3, 3)
        assert codes(found.this_week) == ["M-2"]

    def test_what_is_out_already_and_what_only_warns_is_left_away(self) -> None:
        found = outlook_of([due("M-1", days=-1), due("M-2", days=0, blocks=False)], TODAY)

        assert found.is_calm

    def test_a_person_whose_competence_ends_is_no_piece(self) -> None:
        competence = DueItem("competence:1", DueKind.COMPETENCE, "Handling", TODAY, blocks=True, user_id=1)

        assert outlook_of([competence], TODAY).is_calm
