"""Made-up requests over the published description: none breaks the server, answers keep to it."""

import warnings

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode, checks

WANTED = [
    checks.not_a_server_error,
    checks.response_schema_conformance,
    checks.content_type_conformance,
]
WAY = "http://localhost"
few = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def operations():
    """Methods and paths that are described; the application itself is asked for them below."""
    return [
        ("GET", "/api/season"), ("GET", "/api/shrubs"), ("GET", "/api/shrubs/{tag}"),
        ("GET", "/api/notes"), ("POST", "/api/notes"), ("GET", "/api/round"),
        ("GET", "/api/kinds"), ("GET", "/api/me"), ("GET", "/api/photos/{photo}"),
        ("PUT", "/api/photos/{photo}"),
    ]  # fmt: skip


QUESTIONS = {
    ("GET", f"/api/{path}")
    for path in (
        "bloom", "bloom/{tag}", "pollen", "pollen/{tag}", "crosses", "siting", "layout", "canes",
        "canes/{tag}", "outlook", "harvest", "harvest/{tag}", "weather", "frost", "frost/night",
    )
}  # fmt: skip
"""Answers that take long; they are tried on a planting whose answers are worked out."""


def test_every_answer_that_is_described_is_tried_here(client):
    told = client.get("/api/openapi.json").json()["paths"]
    described = {(method.upper(), path) for path, of in told.items() for method in of}
    assert described == {*operations(), *QUESTIONS}
    assert all(path.startswith("/api/") for path in told)


def body_of(told):
    """The body of a made-up request, as the test client takes it."""
    if told.get("json") is not None:
        return {"json": told["json"]}
    return {"content": told["data"]} if told.get("data") is not None else {}


def tries():
    """Sound and malformed requests of each; one without any terms can only be sound."""
    for method, path in operations():
        yield pytest.param(method, path, GenerationMode.POSITIVE, id=f"{method} {path} sound")
        if path not in {"/api/kinds", "/api/me"}:
            yield pytest.param(method, path, GenerationMode.NEGATIVE, id=f"{method} {path} odd")


@pytest.mark.slow
@pytest.mark.parametrize(("method", "path", "mode"), list(tries()))
def test_no_made_up_request_breaks_the_server(client, method, path, mode):
    """Sound requests by the description, and ones that go against it."""
    schema = schemathesis.openapi.from_dict(client.get("/api/openapi.json").json())
    operation = schema[path][method]
    headers = {"x-nuttery-token": client.headers["x-nuttery-token"]}

    @few
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case):
        told = case.as_transport_kwargs(base_url=WAY, headers=headers)
        answer = client.request(
            told["method"],
            told["url"],
            params=told.get("params"),
            headers=dict(told["headers"]),
            **body_of(told),
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            case.validate_response(answer, checks=WANTED)

    ask()
