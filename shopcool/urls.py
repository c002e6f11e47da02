"""Every address of Shopcool."""

from django.urls import include, path

from shopcool.core import views as core_views

urlpatterns = [
    path("health/", core_views.health, name="health"),
    path("styleguide/", core_views.styleguide, name="styleguide"),
    path("api/v1/", include("shopcool.api_urls")),
    path("", include("shopcool.people.urls")),
    path("", include("shopcool.shop.urls")),
    path("", include("shopcool.attachments.urls")),
    path("", include("shopcool.vehicles.urls")),
    path("", include("equipment.urls")),
    path("", include("jobs.urls")),
]
