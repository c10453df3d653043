"""The test agent's documents are what the standard's schema asks for, so that the reader is tried on the real shape.

The schemas (XSD 1.1) restrict some TimeSeries types in a way that the validator will not build; it is told to build
the rest, and what it refuses must be those alone.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import xmlschema

from tests.feeds.agent import STREAMS, Agent

VERSIONS = ["1.7", "2.4"]
pytestmark = pytest.mark.standard


@pytest.fixture(scope="module", params=VERSIONS)
def schema(request: pytest.FixtureRequest, standard: Path) -> xmlschema.XMLSchema11:
    """The streams schema of a version."""
    built = xmlschema.XMLSchema11(standard / f"MTConnectStreams_{request.param}.xsd", validation="lax")
    unbuilt = {error.message for error in built.all_errors if "TimeSeriesType" not in str(error)}
    assert {message for message in unbuilt if "simpleContent" not in message and "restriction" not in message} == set()
    return built


def _of_version(body: bytes, schema: xmlschema.XMLSchema11) -> str:
    return body.decode().replace(STREAMS, schema.target_namespace)


def _full() -> Agent:
    agent = Agent()
    agent.put("total", 812.5)
    agent.put("total", 3, more='resetTriggered="MAINTENANCE"')
    agent.put("working", 90)
    agent.put("exec", "ACTIVE")
    agent.put("rpm", -1200)
    return agent


def test_the_agents_documents_are_valid(schema: xmlschema.XMLSchema11) -> None:
    agent = _full()
    for path in ("/current", "/sample?from=1&count=100", "/sample?from=12&count=100"):
        status, body = agent.answer(path)
        assert status == 200
        assert [error.reason for error in schema.iter_errors(_of_version(body, schema))] == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("nextSequence", "following"), (">-1200<", ">fast<"), (' dataItemId="rpm"', ""), (">ACTIVE<", ">BUSY<")],
)
def test_the_schema_would_tell_a_wrong_one(schema: xmlschema.XMLSchema11, right: str, wrong: str) -> None:
    body = _of_version(_full().answer("/current")[1], schema)
    assert right in body
    assert list(schema.iter_errors(body.replace(right, wrong)))
