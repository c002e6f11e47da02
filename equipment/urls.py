"""Addresses of the pages about equipment."""

from django.urls import path

from equipment.actions import ACTIONS
from equipment.oil import urls as oil
from equipment.views import (
    board,
    history,
    incidents,
    labels,
    maintenance,
    pieces,
    purges,
    reminders,
    trace,
    walls,
)

app_name = "equipment"

urlpatterns = [
    path("reminders/", reminders.reminders, name="reminders"),
    path("reminders/<int:reminder_id>/snooze/", reminders.snooze, name="snooze"),
    path("reminders/<int:reminder_id>/unsnooze/", reminders.unsnooze, name="unsnooze"),
    path("equipment/", board.board, name="board"),
    path("equipment/new/", pieces.register, name="register"),
    path("equipment/labels/", labels.labels, name="labels"),
    path("equipment/purges/new/", purges.purge_create, name="purge"),
    path("equipment/purges/<int:purge_id>/", purges.purge_detail, name="purge_detail"),
    path("equipment/incidents/", incidents.incidents, name="incidents"),
    path("equipment/incidents/<int:incident_id>/", incidents.incident, name="incident"),
    path("equipment/overrides/", incidents.overrides, name="overrides"),
    path("equipment/log/", history.log, name="log"),
    path("equipment/log.csv", history.log_file, name="log_file"),
    path("equipment/walls/", walls.walls, name="walls"),
    path("equipment/walls/<int:display_id>/end/", walls.wall_end, name="wall_end"),
    path("wall/<str:secret>/", walls.wall_display, name="wall_display"),
    path("equipment/due/", maintenance.due, name="due"),
    *oil.urlpatterns,
    path("equipment/<str:code>/", pieces.piece, name="piece"),
    path("equipment/circuits/<int:circuit_id>/trace/", trace.circuit_trace, name="circuit_trace"),
    path("equipment/<str:code>/trace/", trace.piece_trace, name="trace"),
    path("equipment/<str:code>/history/", history.piece_history, name="history"),
    path("equipment/<str:code>/history.pdf", history.piece_history_file, name="history_file"),
    path("equipment/<str:code>/maintenance/", maintenance.piece_work, name="piece_work"),
    path(
        "equipment/<str:code>/maintenance/<int:sequence>/correct/", maintenance.correct, name="work_correct"
    ),
    path("equipment/<str:code>/plans/new/", maintenance.plan_new, name="plan_add"),
    path("equipment/<str:code>/plans/<int:plan_id>/", maintenance.plan_work, name="plan_work"),
    path("equipment/<str:code>/plans/<int:plan_id>/change/", maintenance.plan_edit, name="plan_change"),
    path("equipment/<str:code>/plans/<int:plan_id>/end/", maintenance.plan_stop, name="plan_end"),
    path("equipment/<str:code>/entries/<int:sequence>/withdraw/", pieces.withdraw, name="withdraw"),
    *[
        path(f"equipment/<str:code>/{action.slug}/", pieces.piece_action, {"slug": action.slug}, action.slug)
        for action in ACTIONS
    ],
]
