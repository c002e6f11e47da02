"""Addresses of this app."""

from django.urls import URLPattern

app_name = "jobs"

urlpatterns: list[URLPattern] = []
