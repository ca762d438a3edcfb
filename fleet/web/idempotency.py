"""The key by which a program's repeated request is known for the same."""

import hashlib
import json
import uuid
from collections.abc import Callable
from typing import cast

from django.http import HttpRequest
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.models import Token, User
from fleet.problems import FleetError
from fleet.services.keyed import Answer, Asked, answer_once

HEADER = "Idempotency-Key"
REPEATED = "Idempotency-Repeated"


def key_of(request: HttpRequest | Request) -> uuid.UUID:
    """Return the key that the caller made for this write. Raises FleetError without one, or with a malformed one."""
    text = request.headers.get(HEADER, "").strip().strip('"')
    if not text:
        sentence = f"Send a header {HEADER} with a UUID of your own; the same UUID on a repeat gives the same answer."
        raise FleetError("idempotency_key_missing", HEADER, sentence)
    try:
        return uuid.UUID(text)
    except ValueError as error:
        sentence = f"The header {HEADER} is '{text[:80]}'; send a UUID, such as {uuid.UUID(int=0)}."
        raise FleetError("idempotency_key_malformed", HEADER, sentence) from error


def answered_once(request: Request, do: Callable[[], Response]) -> Response:
    """Do a program's write, or repeat the answer that its key got before, marked with a header.

    Raises FleetError without a key, or where the key was used for something else.
    """
    key = key_of(request)
    sent = json.dumps([request.method, request.path, request.data], sort_keys=True, default=str)
    asked = Asked(
        user=cast(User, request.user),
        token=request.auth if isinstance(request.auth, Token) else None,
        key=key,
        method=str(request.method),
        path=request.path[:300],
        content=hashlib.sha256(sent.encode(errors="surrogatepass")).hexdigest(),
    )
    answer, repeated = answer_once(asked, lambda: _kept_form(do()))
    headers = {"Location": answer.location} if answer.location else {}
    return Response(answer.body, status=answer.status, headers=headers | ({REPEATED: "true"} if repeated else {}))


def _kept_form(response: Response) -> Answer:
    body = json.loads(JSONRenderer().render(response.data))
    return Answer(response.status_code, body, response.headers.get("Location", ""))
