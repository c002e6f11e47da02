"""Addresses of this app."""

from django.urls import URLPattern

app_name = "equipment"

urlpatterns: list[URLPattern] = []
