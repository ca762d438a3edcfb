"""The first hour of a fleet's manager, from the empty register to the trucks: what is typed, refused and mended."""

from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.first_hour import CODE, DEPOT, MISCOPIED, MODEL, ZONE, last_month, register_file

MANAGER, TECHNICIAN, PASSWORD = "orla", "piet", "lime-and-gravel-9"
POINTS = {
    "thou": ((0, 0, "0,3"), (250, "0,2", "0,3"), (500, "-0,3", "0,3")),
    "psi": ((0, 0, "0,2"), (60, "0,2", "0,2")),
}


def first_steps(page: Page, done: int, *, following: str) -> None:
    """Open the first steps from wherever one is: how many are done, and which comes next."""
    page.get_by_role("banner").get_by_role("link", name="First steps").click()
    expect(page.locator("ol.steps h2", has_text="done")).to_have_count(done)
    expect(page.locator(".lead")).to_contain_text(f"Next: {following}.")


def begin(page: Page, address: str) -> None:
    """The first visit makes the first person and depot; a time zone that is none loses nothing that was typed."""
    page.goto(address)
    expect(page.get_by_label("Time zone")).to_have_value(ZONE)  # the device's own
    page.get_by_label("Your sign-in name").fill(MANAGER)
    page.get_by_label("Your first depot").fill(DEPOT)
    page.get_by_label("Its short name").fill(CODE)
    for zone in ("Europe/Berln", ZONE):
        page.get_by_label("Time zone").fill(zone)
        page.get_by_label("Password", exact=True).fill(PASSWORD)
        page.get_by_label("Password once more").fill(PASSWORD)
        page.get_by_role("button", name="Begin").click()
        if zone != ZONE:
            expect(page.get_by_text("'Europe/Berln' is no time zone.")).to_be_visible()
            expect(page.get_by_label("Your first depot")).to_have_value(DEPOT)
    expect(page.get_by_role("heading", level=1)).to_have_text("First steps")


def quantity(page: Page, name: str, text: str, unit: str = "") -> None:
    """Type a number, and choose its unit where another one stands there."""
    page.locator(f"#id_{name}_0").fill(text)
    if unit:
        page.locator(f"#id_{name}_1").select_option(unit)


def specify(page: Page) -> None:
    """A specification from paper: units mixed up, limits in the wrong order, a slipped decimal sign, then right."""
    first_steps(page, 1, following="a specification")
    page.get_by_role("link", name="Name a turbocharger model").click()
    page.get_by_label("Name", exact=True).fill(MODEL)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Specification of {MODEL}")
    page.locator("#id_revision").fill("A")
    page.locator("#id_source_document").fill("Service sheet 4")
    page.locator("#id_effective_from").fill("2023-01-01")
    for name, text, unit in (
        ("setting", "31", "psi"), ("stimulus_max", "2,1", "bar"), ("zero_tolerance_stimulus", "0,3", "psi"),
        ("lower_mm", "60", "thou"), ("nominal_mm", "40", "thou"), ("upper_mm", "800", "thou"),
        ("zero_tolerance_mm", "1", "thou"), ("thread_pitch_mm", "28", "threads per inch"),
    ):  # fmt: skip
        quantity(page, name, text, unit)
    _mend_the_specification(page)


def _mend_the_specification(page: Page) -> None:
    add = page.get_by_role("button", name="Add it")
    add.click()
    expect(page.get_by_text("The setting of 31 psi is not below the canister maximum of 2,1 bar.")).to_be_visible()
    quantity(page, "stimulus_max", "43", "psi")
    add.click()
    expect(page.get_by_text("Limits must rise: lower limit, nominal, upper limit")).to_be_visible()
    quantity(page, "lower_mm", "40")
    quantity(page, "nominal_mm", "60")
    add.click()
    expect(page.get_by_role("alert")).to_contain_text("has a decimal sign slipped?")
    quantity(page, "upper_mm", "80")
    add.click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"{MODEL}, revision A")
    expect(page.get_by_role("row", name="Upper limit")).to_contain_text("2.032 mm")


def calibrate(page: Page) -> None:
    """A dial indicator and a gauge, each with its certificate; the first date of issue lies ahead."""
    first_steps(page, 2, following="instruments with certificates")
    page.get_by_role("link", name="Add an instrument").click()
    page.get_by_role("link", name="dial indicator").click()
    page.locator("#id_label").fill("DI-1")
    for name, text, unit in (
        ("range_high", "0,5", "in"),
        ("division", "0,0005", "in"),
        ("permissible_error", "0.001", "in"),
    ):
        quantity(page, name, text, unit)
    page.get_by_role("button", name="Add it").click()
    _certify(page, "thou", slip=True)
    first_steps(page, 2, following="instruments with certificates")
    page.get_by_role("link", name="Add an instrument").click()
    page.get_by_role("link", name="mechanical gauge").click()
    page.locator("#id_label").fill("PG-1")
    for name, text, unit in (
        ("range_low", "0", "psi"), ("range_high", "60", "psi"), ("division", "0,5", "psi"),
        ("permissible_error", "1,6", "% of span"),
    ):  # fmt: skip
        quantity(page, name, text, unit)
    page.get_by_role("button", name="Add it").click()
    _certify(page, "psi")


def _certify(page: Page, unit: str, *, slip: bool = False) -> None:
    issued = last_month().first - timedelta(days=20)
    page.get_by_role("link", name="Enter a certificate").click()
    page.locator("#id_number").fill(f"K-{unit}")
    page.locator("#id_issued_on").fill(str(timezone.localdate() + timedelta(days=2) if slip else issued))
    page.locator("#id_due_on").fill(str(issued.replace(year=issued.year + 1)))
    page.locator("#id_unit").select_option(unit)
    for place, row in enumerate(POINTS[unit]):
        for column, text in zip(("indication", "value", "expanded_uncertainty"), row, strict=True):
            page.locator(f"[name=points-{place}-{column}]").fill(str(text))
    page.get_by_label("It was not adjusted").check()
    page.get_by_role("button", name="Record the certificate").click()
    if slip:
        expect(page.get_by_text("The day of issue is")).to_be_visible()
        page.locator("#id_issued_on").fill(str(issued))
        page.get_by_role("button", name="Record the certificate").click()
    expect(page.get_by_text("The certificate is recorded.")).to_be_visible()


def bring_in_trucks(page: Page) -> None:
    """Twenty trucks from a spreadsheet: the trial run finds the VIN that was miscopied, the mended file comes in."""
    first_steps(page, 3, following="trucks, engines and turbochargers")
    page.get_by_role("link", name="Bring in a file").first.click()
    _try(page, "trucks.csv", register_file(mended=False))
    expect(page.get_by_text("Of 21 lines, 20 would change the register. Nothing is written yet.")).to_be_visible()
    refused = page.get_by_role("row", name="refused").last
    expect(refused).to_contain_text("The check digit, position 9, is")
    expect(refused).to_contain_text(MISCOPIED)
    page.get_by_role("link", name="Send another file").click()
    _try(page, "trucks mended.csv", register_file(mended=True))
    page.get_by_role("button", name="Go ahead with 21 lines").dblclick()
    expect(page.get_by_text("Of 21 lines, 21 changed the register.")).to_be_visible()


def _try(page: Page, name: str, content: bytes) -> None:
    page.locator("input[type=file]").set_input_files({"name": name, "mimeType": "text/csv", "buffer": content})
    page.get_by_role("button", name="Make the trial run").click()


def type_in_truck(page: Page, number: str) -> None:
    """One truck by hand, from page to page: truck, engine, turbocharger, fitting; what is known is not asked again."""
    first_steps(page, 4, following="the first check")
    page.get_by_role("link", name="Enter a truck by hand").click()
    page.get_by_label("Unit number").fill(number)
    page.get_by_label("In service from").fill("2025-05-01")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Enter its engine").click()
    page.get_by_label("Serial number").fill(f"E-{number}")
    page.get_by_label("Model", exact=True).fill("Lade 12")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_label("Truck, by unit number")).to_have_value(number)
    page.get_by_label("Installed on").fill("2025-05-01")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="enter its turbocharger").click()
    page.get_by_label("Serial number").fill(f"T-{number}")
    page.get_by_label("Model").select_option(label=MODEL)
    page.get_by_label("Received on").fill("2025-04-20")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_label("Engine serial, or unit number of its truck")).to_have_value(f"E-{number}")
    page.get_by_label("Fitted on").fill("2025-05-01")
    page.get_by_role("button", name="Record the fitting").click()
    expect(page.locator(".lead")).to_contain_text(f"Fitted to truck {number} since 1 May 2025.")


def add_technician(page: Page) -> None:
    """A colleague with a role; a password that is too short loses nothing."""
    first_steps(page, 4, following="the first check")
    page.get_by_role("link", name="Add a colleague").click()
    page.get_by_label("Username").fill(TECHNICIAN)
    page.get_by_label("Role").select_option("technician")
    page.get_by_label("First password").fill("short")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("It must contain at least 12 characters.")).to_be_visible()
    expect(page.get_by_label("Username")).to_have_value(TECHNICIAN)
    page.get_by_label("First password").fill(PASSWORD)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("row", name=TECHNICIAN)).to_contain_text("technician")
