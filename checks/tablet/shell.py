"""The tablet's app as it is installed: its page, its worker, its manifest, and who is signed in. No data of anybody."""

import json
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from checks.tablet.release import files_of_release, release, styles_of_release

PAPER, INK = "#fbfaf7", "#1b2329"


@never_cache
@require_safe
def shell(request: HttpRequest) -> HttpResponse:
    """The one page of the app, the same for everybody, so that a tablet may keep it."""
    return render(request, "checks/tablet/shell.html", {"release": release(), "styles": styles_of_release()})


@never_cache
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker. Whatever changes in the app changes this script, which is how a tablet learns of it."""
    about = {
        "version": release(),
        "page": reverse("checks:tablet"),
        "manifest": reverse("checks:tablet_manifest"),
        "files": files_of_release(),
    }
    script = f"self.release = {json.dumps(about)};\nimportScripts({json.dumps(static('checks/tablet/worker.js'))});\n"
    return HttpResponse(script, content_type="text/javascript", headers={"Service-Worker-Allowed": "/tablet/"})


@never_cache
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """What a tablet needs to install the app (W3C Web Application Manifest)."""
    about: dict[str, Any] = {
        "id": reverse("checks:tablet"),
        "name": "Wastegate Register, the check",
        "short_name": "The check",
        "description": "Wastegate checks in the yard, with or without a network.",
        "start_url": reverse("checks:tablet"),
        "scope": reverse("checks:tablet"),
        "display": "standalone",
        "orientation": "any",
        "background_color": PAPER,
        "theme_color": INK,
        "icons": [
            _icon("icon.svg", "any", "image/svg+xml", "any"),
            _icon("icon-192.png", "192x192", "image/png", "any"),
            _icon("icon-512.png", "512x512", "image/png", "any"),
            _icon("icon-512.png", "512x512", "image/png", "maskable"),
        ],
    }
    return JsonResponse(about, content_type="application/manifest+json")


@never_cache
@require_safe
def session(request: HttpRequest) -> JsonResponse:
    """Who is signed in, the token that writes need, and the server's clock."""
    user = request.user
    person = {"pk": user.pk, "name": user.display_name} if user.is_authenticated else None
    return JsonResponse({"person": person, "token": get_token(request), "now": timezone.now().isoformat()})


def _icon(name: str, sizes: str, kind: str, purpose: str) -> dict[str, str]:
    return {"src": static(f"checks/tablet/{name}"), "sizes": sizes, "type": kind, "purpose": purpose}
