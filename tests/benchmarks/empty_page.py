"""The page to compare with: the whole house around nothing, for the person who is signed in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from equipment.models import Piece
from shopcool.urls import urlpatterns as own


def empty(request: HttpRequest, queries: int) -> HttpResponse:
    """Show the frame of every page with nothing in it, after some plain queries."""
    for _query in range(queries):
        list(Piece.objects.order_by("pk")[:5])
    return render(request, "base.html")


urlpatterns = [path("empty/<int:queries>/", empty), *own]
