"""The register, and the wiring of the whole project."""

from fleet.celery import app as celery_app

__all__ = ["celery_app"]
