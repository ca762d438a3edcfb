"""What a tablet fetches and sends: the sheet, and checks signed without a network."""

import json
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from checks.services.check import record_check
from checks.tablet.clock import clock_ahead
from checks.tablet.receipt import receipt_of
from checks.tablet.sheet import mark_of, sheet_of
from fleet.models import Membership
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.web.access import PersonRequest
from fleet.web.programs import for_script

STRANGER = (
    "This check was signed by someone else. It stays on this tablet and is sent when that person signs in here again."
)


@never_cache
@for_script
@require_safe
def sheet(request: PersonRequest) -> HttpResponse:
    """The technician's units, specifications, instruments and limits; 304 where the tablet has them already."""
    require(request.user, Membership.Role.TECHNICIAN)
    found = sheet_of(request.user, request.GET.get("depot", "")[:12])
    mark = f'"{mark_of(found)}"'
    made_at = timezone.now().isoformat()
    if request.headers.get("If-None-Match") == mark:
        return HttpResponse(status=304, headers={"ETag": mark, "X-Made-At": made_at})
    return JsonResponse(found | {"made_at": made_at}, headers={"ETag": mark, "X-Made-At": made_at})


@for_script
@require_POST
def receive(request: PersonRequest) -> HttpResponse:
    """Record a check that was signed on a tablet. The same key again gives the same answer."""
    require(request.user, Membership.Role.TECHNICIAN)
    sent = _sent(request.body)
    if sent.get("person") not in (None, request.user.pk):
        raise FleetError("other_person", "", STRANGER, status=409)
    ahead = clock_ahead(sent.get("device_now"))
    check = record_check(user=request.user, submission=sent.get("submission") or {}, clock_ahead=ahead)
    return JsonResponse(receipt_of(check, request.user, sent), status=201)


def _sent(body: bytes) -> dict[str, Any]:
    try:
        sent = json.loads(body)
    except ValueError as error:
        raise FleetError("not_json", "", "What the tablet sent could not be read. Send it again.") from error
    if not isinstance(sent, dict):
        raise FleetError("not_an_object", "", "Send the check as one JSON object.")
    return sent
