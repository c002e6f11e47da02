"""Addresses of the pages about people."""

from django.urls import path

from shopcool.people.views import competences, people, sign_in, units

app_name = "people"

urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("change-person/", sign_in.change_person, name="change_person"),
    path("me/", people.own_page, name="own_page"),
    path("me/units/", units.own_units, name="own_units"),
    path("me/email/", people.own_email, name="own_email"),
    path("people/", people.people_list, name="list"),
    path("people/new/", people.person_create, name="create"),
    path("people/<int:user_id>/", people.person_detail, name="person_detail"),
    path("people/<int:user_id>/edit/", people.person_edit, name="edit"),
    path("people/<int:user_id>/password/", people.person_password, name="password"),
    path("people/<int:user_id>/deactivate/", people.person_deactivate, name="deactivate"),
    path("people/<int:user_id>/reactivate/", people.person_reactivate, name="reactivate"),
    path("people/<int:user_id>/competences/new/", competences.competence_create, name="competence_create"),
    path(
        "people/competences/<int:competence_id>/withdraw/",
        competences.competence_end,
        name="competence_withdraw",
    ),
]
