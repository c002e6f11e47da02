"""Addresses of the pages about the workshop."""

from django.urls import path

from shopcool.shop import views

app_name = "shop"

urlpatterns = [path("shop/", views.settings, name="settings")]
