"""What programs may send: JSON of a bounded size."""

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from fleet.problems import FleetError


class ObjectParser(JSONParser):
    """JSON that neither fills the memory nor nests without end."""

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        """Read the body. Raises FleetError (413) or ParseError."""
        length = int(getattr(stream, "META", {}).get("CONTENT_LENGTH") or 0)
        if length > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 2**20
            raise FleetError("body_too_long", "", f"Send at most {most} MB at once.", status=413)
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError as error:
            raise ParseError("The JSON nests too deeply.") from error
