"""What a fleet runs, as the compose file says it: nothing open that should be shut, all watched, no secret kept."""

import re
import stat
from pathlib import Path
from typing import Any

import pytest
import yaml
from django.conf import settings
from django.core.management import get_commands, load_command_class

from fleet.management import env_file

ROOT = settings.BASE_DIR
COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = {"migrate", "web", "worker", "beat"}
STORES = {"postgres", "redis"}


def lines(path: Path) -> list[str]:
    """The instructions of the Dockerfile, each on one line."""
    return re.sub(r"\\\n\s*", "", path.read_text()).splitlines()


def test_all_that_a_fleet_needs_is_there() -> None:
    assert set(SERVICES) == OURS | STORES | {"proxy"}


@pytest.mark.parametrize("name", sorted(SERVICES))
def test_every_service_is_watched_and_comes_back(name: str) -> None:
    service = SERVICES[name]
    if name == "migrate":  # ends when it is done; the others wait for that
        assert service["restart"] == "no"
        assert all(SERVICES[one]["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
                   for one in OURS - {name})  # fmt: skip
    else:
        assert service["restart"] == "unless-stopped"
        assert service["healthcheck"]["test"][0] in {"CMD", "CMD-SHELL"}


@pytest.mark.parametrize("name", sorted(OURS))
def test_our_own_services_can_write_nothing_but_data(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert service["volumes"] == ["data:/data"]
    assert "privileged" not in service


@pytest.mark.parametrize("name", sorted(STORES))
def test_database_and_broker_are_reached_from_inside_alone(name: str) -> None:
    assert SERVICES[name]["networks"] == ["inside"]
    assert COMPOSE["networks"]["inside"] == {"internal": True}
    assert "ports" not in SERVICES[name]


def test_only_the_proxy_is_open_to_the_world() -> None:
    for name, service in SERVICES.items():
        for port in service.get("ports", []):
            assert name == "proxy" or port.startswith("127.0.0.1:"), f"{name} is open at {port}"
    assert SERVICES["proxy"]["networks"] == ["outside"], "The proxy must not reach the database."


def test_one_beat_rings_however_many_workers_there_are() -> None:
    assert "--no-beat" in SERVICES["worker"]["command"]
    assert [name for name, service in SERVICES.items() if "beat" in service.get("command", [])] == ["beat"]


@pytest.mark.parametrize("name", ["worker", "beat", "migrate"])
def test_a_command_is_one_that_there_is_with_options_that_it_takes(name: str) -> None:
    python, manage, command, *options = SERVICES[name]["command"]
    assert (python, manage) == ("python", "manage.py")
    parser = load_command_class(get_commands()[command], command).create_parser("manage.py", command)
    parser.parse_args(options)


@pytest.mark.parametrize("name", ["worker", "beat"])
def test_a_pulse_is_looked_for_where_it_is_written(name: str) -> None:
    written = SERVICES[name]["command"][SERVICES[name]["command"].index("--pulse") + 1]
    assert written in SERVICES[name]["healthcheck"]["test"][1]


def test_every_secret_comes_from_the_environment() -> None:
    text = (ROOT / "docker-compose.yml").read_text()
    for name in ("SECRET_KEY", "POSTGRES_PASSWORD", "REDIS_PASSWORD", "SITE_HOST"):
        assert re.search(r"\$\{" + name + r":\?", text), f"Without {name} the start must stop."
    for key, value in SERVICES["web"]["environment"].items():
        if re.search("KEY|PASSWORD|TOKEN", key):
            assert str(value).startswith("${"), key


def test_the_environment_sets_only_what_the_settings_read() -> None:
    source = (ROOT / "fleet/settings.py").read_text()
    assert [name for name in SERVICES["web"]["environment"] if f'("{name}"' not in source] == []


def test_images_are_pinned_by_version() -> None:
    images = [service["image"] for name, service in SERVICES.items() if name not in OURS]
    images += [line.split()[1] for line in lines(ROOT / "Dockerfile") if line.startswith("FROM")]
    assert [image for image in images if not re.search(r":\d+\.\d+", image)] == []


def test_the_image_runs_as_nobody_special_and_carries_no_secret_no_test_and_no_browser() -> None:
    instructions = lines(ROOT / "Dockerfile")
    assert [line for line in instructions if line.startswith("USER")] == ["USER 1000"]
    assert "chromium" not in "\n".join(instructions).lower()
    assert {".env*", "tests", ".git", "var"} <= set((ROOT / ".dockerignore").read_text().split())
    assert "--no-dev" in "".join(instructions)
    assert not any(re.match(r"(ENV|ARG).*(SECRET|PASSWORD|TOKEN)", line) for line in instructions)


def test_server_and_client_of_the_database_are_of_one_version() -> None:
    server = re.search(r"postgres:(\d+)", SERVICES["postgres"]["image"])
    client = re.search(r"postgresql-client-(\d+)", (ROOT / "Dockerfile").read_text())
    assert server is not None
    assert client is not None
    assert server[1] == client[1]


def test_the_proxy_hands_on_to_the_web_service_and_hides_the_metrics() -> None:
    told = COMPOSE["configs"]["proxy"]["content"]
    assert "reverse_proxy web:8000" in told
    assert "respond /metrics 404" in told


def test_secrets_are_new_each_time_long_and_for_their_owner_alone(tmp_path: Path) -> None:
    kept = []
    for name in ("one", "two"):
        assert env_file.main(["register.example", str(tmp_path / name)]) == 0
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o600
        pairs = [line.split("=", 1) for line in (tmp_path / name).read_text().splitlines() if line[:1] not in "#"]
        kept.append(dict(pairs))
    asked = set(re.findall(r"\$\{(\w+):\?", (ROOT / "docker-compose.yml").read_text())) | {"METRICS_TOKEN"}
    assert asked <= set(kept[0])
    for name in asked - {"SITE_HOST"}:
        assert kept[0][name] != kept[1][name]
        assert len(kept[0][name]) >= 40
        assert re.fullmatch(r"[\w-]+", kept[0][name]), "A sign that some reader takes for its own."


def test_secrets_that_exist_are_never_written_over(tmp_path: Path, capsys) -> None:
    path = tmp_path / ".env"
    path.write_text("SECRET_KEY=old")
    assert env_file.main(["register.example", str(path)]) == 1
    assert path.read_text() == "SECRET_KEY=old"
    assert "left as it is" in capsys.readouterr().err


@pytest.mark.parametrize(
    "host", ["", "https://register.example", "register", "a b.example", "-x.example", "x.example\nA=1"]
)
def test_a_name_that_is_none_is_refused(tmp_path: Path, host: str) -> None:
    with pytest.raises(env_file.Refused, match="no name of a machine"):
        env_file.write(tmp_path / ".env", host)
    assert not (tmp_path / ".env").exists()
