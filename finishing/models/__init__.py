from finishing.models.air import AirDay, AirSource, ForecastEnsemble, ForecastIssue
from finishing.models.api_token import ApiToken
from finishing.models.builder_line import BuilderLine
from finishing.models.change import Change
from finishing.models.company import Company
from finishing.models.compound import Compound, JointingSystem, SystemStage
from finishing.models.crew import (
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    ExtraHours,
    Holiday,
    Loan,
)
from finishing.models.deed import Deed
from finishing.models.dryer import Dryer
from finishing.models.first_code import FirstCode
from finishing.models.house import Area, House, JointLine, Room, Surface
from finishing.models.invitation import Invitation
from finishing.models.note import Note
from finishing.models.pay import PayTerm
from finishing.models.price import Price
from finishing.models.quote import Quote
from finishing.models.rate import LabourRate, PlacingRate
from finishing.models.second_step import PhoneKey, WrittenCode
from finishing.models.sent_reading import SentReading
from finishing.models.sent_request import SentRequest
from finishing.models.site import Closure, CoatDone, OddJob, ReadinessLine
from finishing.models.supply import StockLine, Supply
from finishing.models.user import Role, User
from finishing.models.user_session import FailedSignIns, UserSession

__all__ = [
    "AirDay",
    "AirSource",
    "ApiToken",
    "Area",
    "BuilderLine",
    "Change",
    "Closure",
    "CoatDone",
    "Company",
    "Compound",
    "Crew",
    "CrewHours",
    "CrewMember",
    "DayOff",
    "Deed",
    "Dryer",
    "ExtraHours",
    "FailedSignIns",
    "FirstCode",
    "ForecastEnsemble",
    "ForecastIssue",
    "Holiday",
    "House",
    "Invitation",
    "JointLine",
    "JointingSystem",
    "LabourRate",
    "Loan",
    "Note",
    "OddJob",
    "PayTerm",
    "PhoneKey",
    "PlacingRate",
    "Price",
    "Quote",
    "ReadinessLine",
    "Role",
    "Room",
    "SentReading",
    "SentRequest",
    "StockLine",
    "Supply",
    "Surface",
    "SystemStage",
    "User",
    "UserSession",
    "WrittenCode",
]
