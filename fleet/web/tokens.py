"""Programs that come with a token: whom it stands for, and what it may do."""

import logging
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request

from fleet.models import Token, User
from fleet.problems import FleetError
from fleet.selectors.token import LIVE, state_of, token_for
from fleet.services.token import note_use
from fleet.web.rates import StrangerRate

KEYWORD = "Bearer"
UNKNOWN = "This token opens nothing: it is mistyped, has expired or was revoked. Make another on the page 'Tokens'."
logger = logging.getLogger(__name__)


class TokenAuthentication(BaseAuthentication):
    """``Authorization: Bearer <token>``; without that header somebody else may say who it is."""

    def authenticate(self, request: Request) -> tuple[User, Token] | None:
        """Return the token's person and the token. Raises AuthenticationFailed for one that opens nothing."""
        scheme, _, secret = get_authorization_header(request).decode("latin-1").partition(" ")
        if scheme.lower() != KEYWORD.lower():
            return None
        token = token_for(secret.strip())
        if token is None or state_of(token) != LIVE or not token.user.is_active:
            self._count_failure(request)
            raise AuthenticationFailed(UNKNOWN)
        note_use(token)
        if request.method not in SAFE_METHODS:
            logger.info("token %s of %s: %s %s", token.pk, token.user_id, request.method, request.path)
        return token.user, token

    def authenticate_header(self, request: Request) -> str:
        """How to come in, told with 401."""
        return f'{KEYWORD} realm="Wastegate Register"'

    def _count_failure(self, request: Request) -> None:
        """Failed tokens count against the address before any view could count them."""
        rate = StrangerRate()
        if not rate.allow_request(request, None):
            raise Throttled(rate.wait())


class TokenScheme(OpenApiAuthenticationExtension):
    """The same for the description of the interface."""

    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """A token in the header."""
        return {"type": "http", "scheme": "bearer", "description": "A token made on the page 'Tokens'."}


def require_scope(request: Request, view: Any) -> None:
    """Refuse with 403 what the token does not cover; a session covers all that its person may do."""
    if not isinstance(request.auth, Token):
        return
    area, act = getattr(view, "scope", ""), "read" if request.method in SAFE_METHODS else "write"
    if not area:
        raise FleetError("no_tokens_here", "", "This address is not open to tokens.", status=403)
    if f"{area}:{act}" not in request.auth.scopes:
        sentence = f"This token lacks the scope '{area}:{act}'. Make one that has it on the page 'Tokens'."
        raise FleetError("scope_missing", "", sentence, status=403)
