"""What exists and what happened to it."""

from fleet.models.complaint import Complaint
from fleet.models.demonstration import Demonstration
from fleet.models.depot import Depot
from fleet.models.job import Job
from fleet.models.token import KeyedRequest, Token
from fleet.models.trip import StaleCell, Trip, TripImport, TripSource
from fleet.models.truck import Engine, Installation, Truck
from fleet.models.turbocharger import Fitment, Note, Turbocharger, TurbochargerModel
from fleet.models.usage import MeterReading
from fleet.models.user import CalendarFeed, Membership, RecoveryCode, User

__all__ = [
    "CalendarFeed",
    "Complaint",
    "Demonstration",
    "Depot",
    "Engine",
    "Fitment",
    "Installation",
    "Job",
    "KeyedRequest",
    "Membership",
    "MeterReading",
    "Note",
    "RecoveryCode",
    "StaleCell",
    "Token",
    "Trip",
    "TripImport",
    "TripSource",
    "Truck",
    "Turbocharger",
    "TurbochargerModel",
    "User",
]
