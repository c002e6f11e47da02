"""Addresses of the pages about vehicles."""

from django.http import HttpResponse
from django.urls import path

app_name = "vehicles"

urlpatterns = [path("vehicles/", lambda request: HttpResponse(), name="list")]
