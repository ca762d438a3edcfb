"""Files brought into the register."""

from pathlib import Path

from django.conf import settings

from fleet.imports.staging import go_ahead, stage

FILES = Path(settings.BASE_DIR) / "fixtures" / "imports"


def bring_in(crew, name, kind="register"):
    content = (FILES / name).read_bytes()
    return go_ahead(user=crew.manager, key=stage(user=crew.manager, kind=kind, name=name, content=content).key)
