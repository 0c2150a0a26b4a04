"""Who asks by a token: a person, or a machine of a company."""

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from finishing.models import ApiToken, User
from finishing.services.tokens import find_token

SCHEME = "Bearer"


class Machine:
    """Stands where the person stands who asks; what it may do, its token says."""

    is_authenticated = True
    is_active = True


class TokenAuthentication(BaseAuthentication):
    """``Authorization: Bearer coatweave_...`` (RFC 6750)."""

    def authenticate(self, request: Request) -> tuple[User | Machine, ApiToken] | None:
        scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
        if not scheme:
            return None
        token = None
        if scheme.lower() == SCHEME.lower():
            token = find_token(secret.strip(), now=timezone.now())
        if token is None:
            raise AuthenticationFailed("There is no such token, or it is over.")
        return token.person or Machine(), token

    def authenticate_header(self, request: Request) -> str:  # noqa: ARG002
        return f'{SCHEME} realm="Coatweave"'
