"""The REST doors of the reminders: one's own list, putting aside and taking up again, and the daily run."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.due import DueKind
from equipment.policies import may_see_runs, may_snooze
from equipment.reminders.days import local_day
from equipment.reminders.models import Digest, Reminder
from equipment.reminders.selectors import (
    RunReport,
    reminders_standing,
    reminders_visible_to,
    run_report,
    snooze_of,
)
from equipment.reminders.stages import Stage
from equipment.services.snoozes import reminder_snooze, reminder_unsnooze
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.core.loaders import load
from shopcool.people.policies import works_here
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get


class ReminderOutput(serializers.Serializer[Reminder]):
    """A reminder of something due on ``due_on``; ``blocks`` says that what it is about is refused after."""

    id = serializers.IntegerField()
    what = serializers.CharField()
    kind = serializers.ChoiceField(choices=DueKind.choices)
    stage = serializers.ChoiceField(choices=Stage.choices)
    due_on = serializers.DateField()
    blocks = serializers.BooleanField()
    piece = serializers.CharField(source="piece_code")
    lot = serializers.CharField(source="lot_code")
    person = serializers.IntegerField(source="person_id", allow_null=True)
    written_at = serializers.DateTimeField()
    aside_until = serializers.SerializerMethodField()
    aside_reason = serializers.SerializerMethodField()

    def get_aside_until(self, reminder: Reminder) -> date | None:
        """Return until when it is put aside, None when it is not."""
        snooze = snooze_of(reminder)
        return snooze.until if snooze else None

    def get_aside_reason(self, reminder: Reminder) -> str:
        """Return why it is put aside, empty when it is not."""
        snooze = snooze_of(reminder)
        return snooze.reason if snooze else ""


class SnoozeInput(serializers.Serializer[Any]):
    """Until when a reminder is put aside, and why it can wait."""

    until = serializers.DateField()
    reason = serializers.CharField(max_length=300)


class UnsentOutput(serializers.ModelSerializer[Digest]):
    """An e-mail of the last week that did not get through."""

    to = serializers.CharField(source="recipient.full_name")

    class Meta:
        model = Digest
        fields = ["day", "to", "status", "attempts", "failure"]
        read_only_fields = fields


class RunOutput(serializers.Serializer[RunReport]):
    """How the daily run does: the newest day written, null before the first, and whether one is missing."""

    day = serializers.DateField(source="newest.day", default=None, allow_null=True)
    finished_at = serializers.DateTimeField(source="newest.finished_at", default=None, allow_null=True)
    worker = serializers.CharField(source="newest.worker", default="")
    reminders = serializers.IntegerField(source="newest.reminders", default=0)
    digests = serializers.IntegerField(source="newest.digests", default=0)
    is_missing = serializers.BooleanField()
    unsent = UnsentOutput(many=True)


class ReminderList(generics.ListAPIView[Reminder]):
    """What the person behind the request has to think of, the most urgent first."""

    serializer_class = ReminderOutput
    filter_backends = ()
    queryset = Reminder.objects.none()

    def get_queryset(self) -> QuerySet[Reminder]:
        """Return the person's own reminders."""
        actor = actor_of(self.request)
        return reminders_visible_to(actor).filter(recipient_id=actor.user_id)

    def paginate_queryset(self, queryset: Any) -> Any:
        """Return one page of those that still stand: what was done a moment ago is left out."""
        today = local_day(clock.now(), shop_get().time_zone)
        return super().paginate_queryset(reminders_standing(actor_of(self.request), today=today))


class ReminderSnooze(APIView):
    """Put a reminder of one's own aside; sent twice it is put aside once."""

    @extend_schema(request=SnoozeInput, responses=ReminderOutput)
    def post(self, request: Request, pk: int) -> Response:
        """Put it aside until a day, with a reason that stays on record."""
        actor = actor_of(request)
        reminder = _own(actor, pk)
        sent = SnoozeInput(data=request.data)
        sent.is_valid(raise_exception=True)
        reminder_snooze(actor=actor, reminder=reminder, now=clock.now(), **sent.validated_data)
        return Response(ReminderOutput(_own(actor, pk)).data)


class ReminderUnsnooze(APIView):
    """Take a reminder of one's own up again."""

    @extend_schema(request=None, responses=ReminderOutput)
    def post(self, request: Request, pk: int) -> Response:
        """End its being aside; a reminder that was not put aside stays as it is."""
        actor = actor_of(request)
        reminder_unsnooze(actor=actor, reminder=_own(actor, pk), now=clock.now())
        return Response(ReminderOutput(_own(actor, pk)).data)


class ReminderRunDetail(APIView):
    """How the daily run does, for an owner and for whoever watches over the machine."""

    @extend_schema(responses=RunOutput)
    def get(self, request: Request) -> Response:
        """Return the newest run, whether one is missing, and the e-mails that are not out."""
        actor = actor_of(request)
        if not works_here(actor):
            raise Http404
        require(may_see_runs(actor))
        return Response(RunOutput(run_report(shop_get(), clock.now())).data)


def _own(actor: Actor, pk: int) -> Reminder:
    """Return one's own reminder: 404 for what is not one's to see, 403 for an owner looking at another's."""
    found = load(reminders_visible_to(actor), actor=actor, policy=works_here, pk=pk)
    require(may_snooze(actor, found.recipient_id))
    return found
