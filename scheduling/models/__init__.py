from scheduling.models.crew_word import ExtraWork, Obstacle, SentReport
from scheduling.models.house_revision import HouseRevision
from scheduling.models.link import FeedLink, FormerSecret
from scheduling.models.outgoing import Outgoing
from scheduling.models.pin import Pin
from scheduling.models.plan import CompanyPlans, Plan, PlannedTask
from scheduling.models.publication import Publication, Visit
from scheduling.models.report import Report
from scheduling.models.run import PlanRun

__all__ = [
    "CompanyPlans",
    "ExtraWork",
    "FeedLink",
    "FormerSecret",
    "HouseRevision",
    "Obstacle",
    "Outgoing",
    "Pin",
    "Plan",
    "PlanRun",
    "PlannedTask",
    "Publication",
    "Report",
    "SentReport",
    "Visit",
]
