"""Addresses of the REST API, version 1."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
