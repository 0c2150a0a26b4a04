"""Addresses of the API."""

from django.urls import path, register_converter
from django.urls.converters import PathConverter
from rest_framework.routers import SimpleRouter

from api.rest.absences import Absences
from api.rest.air import HouseAir
from api.rest.air_sources import AirSources
from api.rest.areas import Areas
from api.rest.builder_lines import BuilderLines
from api.rest.calendar_pushes import CalendarPushes
from api.rest.closures import Closures
from api.rest.coats_done import CoatsDone
from api.rest.compounds import Compounds
from api.rest.costs import HouseCosts, PlanCosts
from api.rest.crew_pages import CrewPages
from api.rest.crews import Crews
from api.rest.deeds import Deeds
from api.rest.deliveries import Deliveries
from api.rest.description import Nothing, docs, problem, schema
from api.rest.dryers import Dryers
from api.rest.edits import Edits
from api.rest.extra_hours import ExtraHoursDays
from api.rest.extra_work import ExtraWorks
from api.rest.feeds import Feeds
from api.rest.holidays import FetchedHolidays, Holidays
from api.rest.hours import AirSourceHours
from api.rest.house_history import HouseHistories
from api.rest.houses import Houses
from api.rest.imports import (
    AirImport,
    CrewsImport,
    DryersImport,
    HousesImport,
    PacksImport,
    SiteImport,
)
from api.rest.invitations import Invitations
from api.rest.jointing_systems import JointingSystems
from api.rest.labour_rates import LabourRates, UsualRates
from api.rest.loans import Loans
from api.rest.looking_back import ForecastRecords, LookingBack
from api.rest.material import Material
from api.rest.members import Members
from api.rest.moves import PlannedVisitMove, PlannedVisits
from api.rest.notes import Notes
from api.rest.obstacles import Obstacles
from api.rest.odd_jobs import OddJobs
from api.rest.odds import Odds
from api.rest.pay_terms import CrewPay, PayTerms
from api.rest.people import People
from api.rest.pins import Pins
from api.rest.placing_rates import PlacingRates
from api.rest.plans import Plans
from api.rest.prices import Prices
from api.rest.publications import Publications
from api.rest.quotes import Quotes
from api.rest.rate_offers import RateOffers
from api.rest.reached import ReachedCrews
from api.rest.readiness import ReadinessLines
from api.rest.readings import HouseReadings
from api.rest.reports import Reports
from api.rest.rooms import Rooms
from api.rest.runs import Runs
from api.rest.scenarios import Scenarios
from api.rest.settings import Settings
from api.rest.stock import Stock
from api.rest.supplies import Supplies
from api.rest.tokens import Tokens
from api.rest.visits import Visits
from api.rest.water import HouseWater
from api.rest.webhooks import Webhooks


class AnythingConverter(PathConverter):
    """Whatever else an address may be, line breaks included."""

    regex = r"[\s\S]+"


register_converter(AnythingConverter, "anything")

rows = SimpleRouter(use_regex_path=False)
rows.register("absences", Absences, basename="absence")
rows.register("air-sources", AirSources, basename="air_source")
rows.register("areas", Areas, basename="area")
rows.register("calendar-pushes", CalendarPushes, basename="calendar_push")
rows.register("builder-lines", BuilderLines, basename="builder_line")
rows.register("closures", Closures, basename="closure")
rows.register("coats-done", CoatsDone, basename="coat_done")
rows.register("compounds", Compounds, basename="compound")
rows.register("crew-pages", CrewPages, basename="crew_page")
rows.register("crews", Crews, basename="crew")
rows.register("deeds", Deeds, basename="deed")
rows.register("dryers", Dryers, basename="dryer")
rows.register("edits", Edits, basename="edit")
rows.register("extra-hours", ExtraHoursDays, basename="extra_hours")
rows.register("extra-work", ExtraWorks, basename="extra_work")
rows.register("holidays", Holidays, basename="holiday")
rows.register("deliveries", Deliveries, basename="delivery")
rows.register("feeds", Feeds, basename="feed")
rows.register("houses", Houses, basename="house")
rows.register("invitations", Invitations, basename="invitation")
rows.register("jointing-systems", JointingSystems, basename="system")
rows.register("labour-rates", LabourRates, basename="labour_rate")
rows.register("loans", Loans, basename="loan")
rows.register("members", Members, basename="member")
rows.register("notes", Notes, basename="note")
rows.register("obstacles", Obstacles, basename="obstacle")
rows.register("odd-jobs", OddJobs, basename="odd_job")
rows.register("pay-terms", PayTerms, basename="pay_term")
rows.register("people", People, basename="person")
rows.register("pins", Pins, basename="pin")
rows.register("reports", Reports, basename="report")
rows.register("placing-rates", PlacingRates, basename="placing_rate")
rows.register("plans", Plans, basename="plan")
rows.register("prices", Prices, basename="price")
rows.register("publications", Publications, basename="publication")
rows.register("quotes", Quotes, basename="quote")
rows.register("readiness-lines", ReadinessLines, basename="readiness_line")
rows.register("rooms", Rooms, basename="room")
rows.register("runs", Runs, basename="run")
rows.register("scenarios", Scenarios, basename="scenario")
rows.register("stock", Stock, basename="stock_line")
rows.register("supplies", Supplies, basename="supply")
rows.register("tokens", Tokens, basename="token")
rows.register("visits", Visits, basename="visit")
rows.register("webhooks", Webhooks, basename="webhook")

app_name = "rest"
urlpatterns = [
    *rows.urls,
    path("houses/<house:public_id>/water/", HouseWater.as_view(), name="house_water"),
    path("houses/<house:public_id>/costs/", HouseCosts.as_view(), name="house_costs"),
    path("plans/<plan:public_id>/costs/", PlanCosts.as_view(), name="plan_costs"),
    path("houses/<house:public_id>/air/", HouseAir.as_view(), name="house_air"),
    path("houses/<house:public_id>/history/", HouseHistories.as_view(), name="house_history"),
    path("houses/<house:public_id>/readings/", HouseReadings.as_view(), name="house_readings"),
    path(
        "air-sources/<air_source:public_id>/hours/", AirSourceHours.as_view(), name="source_hours"
    ),
    path("holidays/fetch/", FetchedHolidays.as_view(), name="fetched_holidays"),
    path("imports/air/", AirImport.as_view(), name="import_air"),
    path("imports/crews/", CrewsImport.as_view(), name="import_crews"),
    path("imports/dryers/", DryersImport.as_view(), name="import_dryers"),
    path("imports/houses/", HousesImport.as_view(), name="import_houses"),
    path("imports/packs/", PacksImport.as_view(), name="import_packs"),
    path("imports/site/", SiteImport.as_view(), name="import_site"),
    path("crews/<crew:public_id>/pay/", CrewPay.as_view(), name="crew_pay"),
    path("looking-back/", LookingBack.as_view(), name="looking_back"),
    path("forecast-record/", ForecastRecords.as_view(), name="forecast_record"),
    path("publications/reached/", ReachedCrews.as_view(), name="reached"),
    path("rate-offers/", RateOffers.as_view(), name="rate_offers"),
    path("labour-rates/usual/", UsualRates.as_view(), name="usual_rates"),
    path("settings/", Settings.as_view(), name="settings"),
    path("planned-visits/<planned_task:public_id>/", PlannedVisits.as_view(), name="planned_visit"),
    path(
        "planned-visits/<planned_task:public_id>/move/",
        PlannedVisitMove.as_view(),
        name="planned_visit_move",
    ),
    path("material/", Material.as_view(), name="material"),
    path("odds/", Odds.as_view(), name="odds"),
    path("schema/", schema, name="schema"),
    path("docs/", docs, name="docs"),
    path("problems/<slug:code>/", problem, name="problem"),
    path("<anything:_address>", Nothing.as_view(), name="nothing"),
]
