from scheduling.models.crew_word import ExtraWork, Obstacle, SentReport
from scheduling.models.declined_rates import DeclinedRates
from scheduling.models.endpoint import CalendarPush, PushedEntry, Webhook
from scheduling.models.house_revision import HouseRevision
from scheduling.models.link import CrewPage, FeedLink, FormerPageSecret, FormerSecret
from scheduling.models.outgoing import Outgoing
from scheduling.models.pin import Pin
from scheduling.models.plan import CompanyPlans, Plan, PlannedTask
from scheduling.models.publication import Publication, Visit
from scheduling.models.report import Report
from scheduling.models.run import PlanRun
from scheduling.models.scenario import Scenario
from scheduling.models.seen import SeenPublication
from scheduling.models.told import ToldHandover, VisitPerson

__all__ = [
    "CalendarPush",
    "CompanyPlans",
    "CrewPage",
    "DeclinedRates",
    "ExtraWork",
    "FeedLink",
    "FormerPageSecret",
    "FormerSecret",
    "HouseRevision",
    "Obstacle",
    "Outgoing",
    "Pin",
    "Plan",
    "PlanRun",
    "PlannedTask",
    "Publication",
    "PushedEntry",
    "Report",
    "Scenario",
    "SeenPublication",
    "SentReport",
    "ToldHandover",
    "Visit",
    "VisitPerson",
    "Webhook",
]
