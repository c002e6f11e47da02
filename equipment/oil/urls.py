"""Addresses of the pages about oil."""

from django.urls import path

from equipment.oil import views
from equipment.oil.actions import ACTIONS

urlpatterns = [
    path("equipment/oil/", views.oil_shelf, name="oil_shelf"),
    path("equipment/oil/new/", views.lot_new, name="oil_lot_new"),
    path("equipment/oil/<str:code>/", views.lot, name="oil_lot"),
    *[
        path(
            f"equipment/oil/<str:code>/{action.slug}/",
            views.lot_action,
            {"slug": action.slug},
            f"oil_{action.slug}",
        )
        for action in ACTIONS
    ],
    path("equipment/<str:code>/fill/", views.fill, name="fill"),
    path("equipment/<str:code>/replace/", views.replace, name="injector_replace"),
    *[
        path(
            f"equipment/<str:code>/oil/{action.slug}/",
            views.injector_action,
            {"slug": action.slug},
            f"injector_{action.slug}",
        )
        for action in ACTIONS
        if action.for_injectors
    ],
]
