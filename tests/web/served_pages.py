"""The pages on the real desk, and forms filled in and sent as a person would."""

from tests.web.markup import Element, read
from tests.web.visitor import Visitor


def page(visitor: Visitor, path: str) -> Element:
    """A page, which must be there."""
    answer = visitor.get(path)
    assert answer.status_code == 200, answer.text
    return read(answer.text)


def begun(form: Element) -> dict[str, str]:
    """What a form holds before anything is typed."""
    held = {
        e.attributes["name"]: e.attributes.get("value", "")
        for e in form.all("input")
        if "name" in e.attributes and e.attributes.get("type") != "checkbox"
    }
    for select in form.all("select"):
        options = select.all("option")
        chosen = [o for o in options if "selected" in o.attributes] or options[:1]
        held[select.attributes["name"]] = chosen[0].attributes["value"]
    return held


def send(visitor: Visitor, path: str, action: str, **typed: str) -> str:
    """Fills the form with this action on a page and sends it; gives where it leads."""
    answer = visitor.post(action, data={**begun(page(visitor, path).one("form", action=action)), **typed})
    assert answer.status_code == 303, read(answer.text).text
    return answer.headers["location"]


def refused(visitor: Visitor, path: str, action: str, **typed: str) -> Element:
    """Sends a form that must come back with its problems."""
    answer = visitor.post(action, data={**begun(page(visitor, path).one("form", action=action)), **typed})
    assert answer.status_code in (409, 422), answer.status_code
    return read(answer.text)
