"""The page on which a half-done house is entered, with its odd jobs."""

from api.web.coats_form import CoatsGroup
from api.web.house_parts import PageOfParts
from api.web.odd_jobs_form import OddJobsGroup

DONE = PageOfParts(
    address="done",
    template="web/done.html",
    groups={"coats": CoatsGroup, "jobs": OddJobsGroup},
)
