"""Addresses of the REST API, version 1; versions differ in serializers, never in services."""

from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from equipment import api as equipment
from equipment import api_due as due
from equipment import api_maintenance as maintenance
from equipment import api_measures as measures
from equipment.oil import api as oil
from equipment.oil import api_acts as oil_acts
from equipment.reminders import api as reminders
from jobs import api as jobs
from jobs import api_injectors, api_oil, api_steps
from shopcool.attachments import api as attachments
from shopcool.vehicles import api as vehicles
from shopcool.vehicles import api_codes as codes
from shopcool.vehicles import api_writing as vehicles_writing

app_name = "api"

urlpatterns = [
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("attachments/of/<str:kind>/<str:key>/", attachments.AttachmentList.as_view(), name="attachments"),
    path("attachments/<str:public_id>/", attachments.AttachmentDetail.as_view(), name="attachment"),
    path(
        "attachments/<str:public_id>/content/",
        attachments.AttachmentContent.as_view(),
        name="attachment_content",
    ),
    path(
        "attachments/<str:public_id>/withdrawal/",
        attachments.AttachmentWithdrawal.as_view(),
        name="attachment_withdrawal",
    ),
    path("vehicles/", vehicles_writing.VehicleDoor.as_view(), name="vehicles"),
    path("vehicles/<int:pk>/", vehicles.VehicleDetail.as_view(), name="vehicle"),
    path("trouble-codes/", codes.CodeList.as_view(), name="codes"),
    path("trouble-codes/<int:pk>/", codes.CodeDetail.as_view(), name="code"),
    path("circuits/<int:pk>/", vehicles_writing.CircuitDetail.as_view(), name="circuit"),
    path("circuits/<int:pk>/oil/", api_oil.CircuitOilDetail.as_view(), name="circuit_oil"),
    path(
        "circuits/<int:pk>/clearance-check/",
        equipment.CircuitClearanceCheck.as_view(),
        name="circuit_clearance_check",
    ),
    path("oil-lots/", oil.OilLotList.as_view(), name="oil_lots"),
    path("oil-lots/<str:code>/", oil.OilLotDetail.as_view(), name="oil_lot"),
    path("oil-lots/<str:code>/fill/", oil.OilLotFill.as_view(), name="oil_lot_fill"),
    path("oil-lots/<str:code>/open/", oil_acts.OilLotOpen.as_view(), name="oil_lot_open"),
    path("oil-lots/<str:code>/measure/", oil_acts.OilLotMeasure.as_view(), name="oil_lot_measure"),
    path("oil-lots/<str:code>/waste/", oil_acts.OilLotWaste.as_view(), name="oil_lot_waste"),
    path("oil-lots/<str:code>/vial-test/", oil_acts.OilLotVialTest.as_view(), name="oil_lot_vial_test"),
    path("oil-lots/<str:code>/level/", oil_acts.OilLotLevel.as_view(), name="oil_lot_level"),
    path("oil-lots/<str:code>/bad/", oil_acts.OilLotBad.as_view(), name="oil_lot_bad"),
    path("equipment/", equipment.PieceList.as_view(), name="pieces"),
    path("equipment/<str:code>/", equipment.PieceDetail.as_view(), name="piece"),
    path("equipment/<str:code>/exposures/", equipment.PieceExposures.as_view(), name="piece_exposures"),
    path("equipment/<str:code>/hoses/", measures.PieceHoses.as_view(), name="piece_hoses"),
    path("equipment/<str:code>/weighing/", measures.PieceWeighing.as_view(), name="piece_weighing"),
    path("equipment/<str:code>/oil/measure/", oil_acts.InjectorMeasure.as_view(), name="injector_measure"),
    path("equipment/<str:code>/oil/waste/", oil_acts.InjectorWaste.as_view(), name="injector_waste"),
    path("equipment/<str:code>/plans/", maintenance.PiecePlans.as_view(), name="piece_plans"),
    path("equipment/<str:code>/plans/<int:pk>/done/", maintenance.PlanWork.as_view(), name="plan_work"),
    path("equipment/<str:code>/maintenance/", maintenance.PieceWork.as_view(), name="piece_maintenance"),
    path("due/", due.DueList.as_view(), name="due"),
    path("reminders/", reminders.ReminderList.as_view(), name="reminders"),
    path("reminders/run/", reminders.ReminderRunDetail.as_view(), name="reminder_run"),
    path("reminders/<int:pk>/snooze/", reminders.ReminderSnooze.as_view(), name="reminder_snooze"),
    path("reminders/<int:pk>/unsnooze/", reminders.ReminderUnsnooze.as_view(), name="reminder_unsnooze"),
    path("jobs/", jobs.JobList.as_view(), name="jobs"),
    path("jobs/<str:number>/", jobs.JobDetail.as_view(), name="job"),
    path("jobs/<str:number>/clearance-check/", jobs.JobClearanceCheck.as_view(), name="clearance_check"),
    path("jobs/<str:number>/injectors/", api_injectors.JobInjectors.as_view(), name="job_injectors"),
    path("jobs/<str:number>/steps/<str:kind>/", api_steps.JobStep.as_view(), name="job_step"),
    path(
        "jobs/<str:number>/steps/<str:kind>/answer/",
        api_steps.JobStepAnswer.as_view(),
        name="job_step_answer",
    ),
]
