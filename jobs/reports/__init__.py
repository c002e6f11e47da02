"""The record of a job on paper: gathered with a constant number of queries, told without any."""

from jobs.reports.gathering import Gathered, gather
from jobs.reports.job import job_document

__all__ = ["Gathered", "gather", "job_document"]
