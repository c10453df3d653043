"""Reading documents: what is taken from them, and what is refused with a word on how to mend it."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.feeds.agent import START, Agent, serving
from webapp.feeds import fetching, mtconnect
from webapp.feeds.faults import FeedFault, OutOfRange
from webapp.feeds.fetching import check_url, fetch


def answering(body: bytes) -> Callable[[str], bytes]:
    """A fetch that always gives this."""
    return lambda _: body


def test_observations_come_in_order_with_numbers_words_and_resets(agent: Agent, url: str) -> None:
    agent.put("total", "12.25", START)
    agent.put("total", "1e1", START + 500, 'resetTriggered="DAY"')
    agent.put("exec", "ACTIVE", START + 700)
    rows = mtconnect.sample(fetch, url, "total", 1, 500).observations
    assert [(row.value, row.reset, row.at_ms - START) for row in rows] == [
        (None, False, -60_000),
        (12.25, False, 0),
        (10.0, True, 500),
    ]
    (only,) = mtconnect.current(fetch, url, "exec").observations
    assert (only.value, only.sequence) == ("ACTIVE", 9)


def test_the_header_tells_the_run_and_its_numbers(agent: Agent, url: str) -> None:
    stream = mtconnect.current(fetch, url, "total")
    assert (stream.instance, stream.first, stream.last, stream.next) == ("1700000000", 1, 6, 7)
    assert (stream.size, stream.created_ms) == (1000, START)


@pytest.mark.parametrize("namespace", ["", ' xmlns="urn:mtconnect.org:MTConnectStreams:1.2"', ' xmlns="urn:own:2.7"'])
@pytest.mark.parametrize(
    ("text", "value"),
    [("5", 5.0), (" 5.5\n", 5.5), ("UNAVAILABLE", None), ("", None), ("NaN", None), ("INF", None), ("READY", "READY")],
)
def test_every_namespace_and_value_is_read(namespace: str, text: str, value: object) -> None:
    body = (
        f"<MTConnectStreams{namespace}><Header instanceId='1' firstSequence='1' lastSequence='1' nextSequence='2'/>"
        f"<Streams><DeviceStream><ComponentStream><Samples><AccumulatedTime dataItemId='a' sequence='1' "
        f"timestamp='2022-08-08T13:51:34.7167146Z'>{text}</AccumulatedTime></Samples></ComponentStream></DeviceStream>"
        "</Streams></MTConnectStreams>"
    )
    (seen,) = mtconnect.current(answering(body.encode()), "http://x", "a").observations
    assert (seen.value, seen.at_ms) == (value, 1659966694716)


@pytest.mark.parametrize(
    ("attributes", "counts"),
    [
        ("sequence='1' timestamp='2022-08-08T13:51:34'", 1),
        ("sequence='1' timestamp='yesterday'", 0),
        (f"sequence='{'9' * 5000}' timestamp='2022-08-08T13:51:34Z'", 0),
        ("sequence='-1' timestamp='2022-08-08T13:51:34Z'", 0),
        ("sequence='1'", 0),
        ("sequence='1' timestamp='2022-08-08T13:51:34Z' statistic='AVERAGE'", 0),
    ],
)
def test_an_observation_without_time_or_number_is_passed_over(attributes: str, counts: int) -> None:
    body = (
        "<MTConnectStreams><Header instanceId='1' firstSequence='1' lastSequence='1' nextSequence='2'/>"
        f"<Streams><A dataItemId='a' {attributes}>1</A></Streams></MTConnectStreams>"
    )
    assert len(mtconnect.current(answering(body.encode()), "http://x", "a").observations) == counts


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"<html><body>Sign in to the network</body></html>", "is html, not MTConnectStreams"),
        (b"{}", "is no XML"),
        (b"", "is no XML"),
        (b"<MTConnectStreams", "is no XML"),
        (b'<?xml version="1.0" encoding="klingon"?><a/>', "is no XML"),
        (b"<MTConnectStreams/>", "has no header"),
        (b"<MTConnectStreams><Header nextSequence='x'/></MTConnectStreams>", "sequence numbers are none"),
        (b"<MTConnectError><Errors><Error errorCode='NO_DEVICE'>no mill</Error></Errors></MTConnectError>", "no mill"),
    ],
)
def test_an_answer_of_another_kind_is_said(body: bytes, told: str) -> None:
    with pytest.raises(FeedFault, match=told) as caught:
        mtconnect.current(answering(body), "http://x", "a")
    assert not isinstance(caught.value, OutOfRange) and caught.value.mend


@pytest.mark.parametrize(
    "body",
    [
        b"<MTConnectError><Errors><Error errorCode='OUT_OF_RANGE'>too old</Error></Errors></MTConnectError>",
        b"<MTConnectError><Error errorCode='OUT_OF_RANGE'>too old</Error></MTConnectError>",
        b"<MTConnectError><Errors><OutOfRange><ErrorMessage>too old</ErrorMessage></OutOfRange></Errors></MTConnectError>",
    ],
)
def test_out_of_range_is_told_apart_in_every_version(body: bytes) -> None:
    with pytest.raises(OutOfRange):
        mtconnect.sample(answering(body), "http://x", "a", 1, 10)


def _whole() -> bytes:
    agent = Agent()
    agent.put("total", 5, more='resetTriggered="DAY"')
    return agent.streams(list(agent.newest.values()))


WHOLE = _whole()


@given(st.lists(st.tuples(st.integers(0, len(WHOLE)), st.integers(0, 40), st.binary(max_size=12)), max_size=4))
def test_a_spoilt_document_is_read_or_refused_and_never_breaks_us(spoils: list[tuple[int, int, bytes]]) -> None:
    body = WHOLE
    for at, length, new in spoils:
        body = body[:at] + new + body[at + length :]
    for read in (
        lambda: mtconnect.current(answering(body), "http://x", "total"),
        lambda: mtconnect.probe(answering(body), "http://x", "a"),
    ):
        try:
            read()
        except FeedFault as fault:
            assert fault.problem and fault.mend


@given(st.binary(max_size=300))
def test_bytes_of_any_kind_are_refused(body: bytes) -> None:
    with pytest.raises(FeedFault):
        mtconnect.current(answering(body), "http://x", "total")


LAUGHS = b"""<!DOCTYPE a [<!ENTITY l "ha"><!ENTITY l2 "&l;&l;&l;&l;&l;&l;&l;&l;&l;&l;">
<!ENTITY l3 "&l2;&l2;&l2;&l2;&l2;&l2;&l2;&l2;&l2;&l2;">]><MTConnectStreams>&l3;</MTConnectStreams>"""
OUTSIDE = b'<!DOCTYPE a [<!ENTITY f SYSTEM "file:///etc/passwd">]><MTConnectStreams>&f;</MTConnectStreams>'


@pytest.mark.parametrize(
    "body", [LAUGHS, OUTSIDE, b'<!DOCTYPE a SYSTEM "http://127.0.0.1:9/x.dtd"><MTConnectStreams/>']
)
def test_entities_are_never_expanded(body: bytes) -> None:
    with pytest.raises(FeedFault, match="is no XML"):
        mtconnect.current(answering(body), "http://x", "a")


def test_an_answer_without_end_is_cut_off(agent: Agent, url: str) -> None:
    agent.answers["current"] = (200, b"<a>" + b" " * (fetching.LARGEST + 1))
    with pytest.raises(FeedFault, match="larger than 4 MiB"):
        mtconnect.current(fetch, url, "total")


def test_an_answer_that_trickles_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fetching, "WHOLE_SECONDS", 0.3)
    server = socket.create_server(("127.0.0.1", 0))
    ended = threading.Event()

    def trickle() -> None:
        connection, _ = server.accept()
        with connection:
            connection.recv(4096)
            connection.sendall(b"HTTP/1.0 200 OK\r\n\r\n")
            try:
                while not ended.wait(0.05):
                    connection.sendall(b"<")
            except OSError:
                pass

    thread = threading.Thread(target=trickle)
    thread.start()
    try:
        with pytest.raises(FeedFault, match="longer than"):
            fetch(f"http://127.0.0.1:{server.getsockname()[1]}/current")
    finally:
        ended.set()
        thread.join()
        server.close()


def test_a_redirect_is_not_followed(agent: Agent, url: str) -> None:
    with serving(Agent()) as other:
        agent.answers["current"] = (302, f"{other}/current".encode())
        with pytest.raises(FeedFault, match="answered 302"):
            mtconnect.current(fetch, url, "total")


def test_a_machine_that_is_off_is_said() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    with pytest.raises(FeedFault, match="does not answer"):
        fetch(f"http://127.0.0.1:{port}/current")


@pytest.mark.parametrize("url", ["http://10.0.0.7:5000", "https://agent.local/mill", "http://[fe80::1]:5000/"])
def test_addresses_that_are_taken(url: str) -> None:
    assert check_url(url) == url.rstrip("/")


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd", "ftp://x", "http://", "x", "http://a:b@c", "http://a/?q=1", "http://a/#b", "http://a b",
        "http://a:99999", "http://a\r\nX: y", "javascript:alert(1)", "http://[::1",
    ],
)  # fmt: skip
def test_addresses_that_are_refused(url: str) -> None:
    with pytest.raises(ValueError):
        check_url(url)


def test_probing_names_what_can_be_counted(agent: Agent, url: str) -> None:
    item = mtconnect.probe(fetch, url, "execution")
    assert (item.id, item.kind, item.type) == ("exec", "execution", "EXECUTION")
    with pytest.raises(FeedFault, match="Give the id of one of: total, working, exec, rpm"):
        mtconnect.probe(fetch, url, "gone")


def test_a_name_that_stands_twice_asks_for_the_id() -> None:
    twice = b"<MTConnectDevices><DataItem id='a' name='n' type='EXECUTION'/><DataItem id='b' name='n' type='EXECUTION'/></MTConnectDevices>"
    with pytest.raises(FeedFault, match=r"more than one data item «n».*a, b"):
        mtconnect.probe(answering(twice), "http://x", "n")
    assert mtconnect.probe(answering(twice), "http://x", "b").id == "b"


@pytest.mark.standard
def test_the_standards_device_file_is_read(standard: Path) -> None:
    body = (standard / "Devices.xml").read_bytes()
    item = mtconnect.probe(answering(body), "http://x", "pCuttingTime")
    assert (item.id, item.kind) == ("LpCuttingTime", "timer")
    assert mtconnect.probe(answering(body), "http://x", "pexecution").kind == "execution"
    assert mtconnect.probe(answering(body), "http://x", "S1speed").kind == "speed"
