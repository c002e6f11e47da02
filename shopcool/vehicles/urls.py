"""Addresses of the pages about vehicles."""

from django.urls import path

from shopcool.vehicles.views import circuits, codes, vehicles

app_name = "vehicles"

urlpatterns = [
    path("vehicles/", vehicles.vehicle_list, name="list"),
    path("vehicles/new/", vehicles.vehicle_new, name="create"),
    path("vehicles/codes/", codes.code_list, name="codes"),
    path("vehicles/codes/new/", codes.code_new, name="code_create"),
    path("vehicles/codes/<int:code_id>/edit/", codes.code_edit, name="code_edit"),
    path("vehicles/codes/<int:code_id>/remove/", codes.code_delete, name="code_remove"),
    path("vehicles/<int:vehicle_id>/", vehicles.vehicle_detail, name="detail"),
    path("vehicles/<int:vehicle_id>/edit/", vehicles.vehicle_edit, name="edit"),
    path("vehicles/<int:vehicle_id>/circuits/new/", circuits.circuit_new, name="circuit_create"),
    path("vehicles/circuits/<int:circuit_id>/edit/", circuits.circuit_edit, name="circuit_edit"),
]
