"""Addresses of this app."""

from django.urls import path, register_converter

from jobs.converters import StepKindConverter
from jobs.views import booking, calendar, clearance, job, records, reports, scan, search, steps, today, visits

register_converter(StepKindConverter, "step")

app_name = "jobs"

urlpatterns = [
    path("", today.today, name="today"),
    path("jobs/new/", booking.book, name="book"),
    path("jobs/<str:number>/", job.job, name="job"),
    path("jobs/<str:number>/check-in/", visits.check_in, name="check_in"),
    path("jobs/<str:number>/cancel/", visits.cancel, name="cancel"),
    path("jobs/<str:number>/clearance/", clearance.clearance, name="clearance"),
    path("jobs/<str:number>/override/", clearance.override, name="override"),
    path("jobs/<str:number>/disconnect/", clearance.disconnect, name="disconnect"),
    path("jobs/<str:number>/steps/<step:kind>/", steps.step, name="step"),
    path("jobs/<str:number>/records/<int:record_id>/correct/", steps.correct, name="correct"),
    path("jobs/<str:number>/report/", reports.report, name="report"),
    path("jobs/<str:number>/report/<int:report_id>/", reports.report_file, name="report_file"),
    path("records/", records.records, name="records"),
    path("my-calendar/", calendar.own_calendar, name="own_calendar"),
    path("my-calendar/end/", calendar.end, name="end_calendar"),
    path("calendar/<str:secret>.ics", calendar.feed, name="calendar_feed"),
    # Short, since it is printed as a code: fewer letters make larger squares on a small label.
    path("p/<str:public_id>", scan.scan, name="scan"),
    path("search/", search.search_page, name="search"),
]
