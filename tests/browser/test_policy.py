"""The browser itself holds to the content security policy: what is not ours neither runs nor loads.

What a policy must stop: Content Security Policy Level 3 (W3C), sections on script-src, style-src, img-src, connect-src.
"""

import pytest
from playwright.sync_api import Page

INTRUSIONS = {
    "script-src-elem": (
        "const s = document.createElement('script'); s.textContent = 'window.ran = true'; document.head.append(s)"
    ),
    "script-src-attr": (
        "const b = document.createElement('button'); b.setAttribute('onclick', 'window.ran = true'); b.click()"
    ),
    "style-src-elem": (
        "const s = document.createElement('style'); s.textContent = 'body { color: red }'; document.head.append(s)"
    ),
    "img-src": "const i = new Image(); i.src = 'http://127.0.0.2:9/x.png'; document.body.append(i)",
    "connect-src": "fetch('http://127.0.0.2:9/').catch(() => 0)",
    "frame-src": "const f = document.createElement('iframe'); f.src = 'http://127.0.0.2:9/'; document.body.append(f)",
    "base-uri": "const b = document.createElement('base'); b.href = 'http://127.0.0.2:9/'; document.head.append(b)",
    "form-action": (
        "const f = document.createElement('form'); f.action = 'http://127.0.0.2:9/'; document.body.append(f);f.submit()"
    ),
}


@pytest.mark.parametrize("directive", sorted(INTRUSIONS))
def test_an_intrusion_is_stopped_by_its_directive(page: Page, live_server, directive: str) -> None:
    page.goto(f"{live_server.url}/accounts/login/")
    watch = "addEventListener('securitypolicyviolation', event => resolve(event.effectiveDirective), {once: true});"
    stopped = page.evaluate(f"() => new Promise(resolve => {{ {watch} {INTRUSIONS[directive]}; }})")
    assert stopped == directive
    assert page.evaluate("window.ran") is None


def test_text_is_not_run_as_a_program(page: Page, live_server) -> None:
    page.goto(f"{live_server.url}/accounts/login/")
    told = page.evaluate("""() => { try { setTimeout("window.ran = true"); } catch (error) { return error.name; } }""")
    assert told in {None, "EvalError"}
    assert page.evaluate("window.ran") is None
