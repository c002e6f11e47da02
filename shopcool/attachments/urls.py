"""Addresses of the attachments."""

from django.urls import path

from shopcool.attachments import views

app_name = "attachments"

urlpatterns = [
    path("attachments/of/<str:kind>/<str:key>/", views.of, name="of"),
    path("attachments/<str:public_id>/", views.attachment, name="attachment"),
    path("attachments/<str:public_id>/file/", views.file, name="file"),
    path("attachments/<str:public_id>/thumbnail/", views.thumbnail, name="thumbnail"),
    path("attachments/<str:public_id>/withdraw/", views.withdraw, name="withdraw"),
]
