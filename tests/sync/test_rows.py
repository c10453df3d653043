"""Which test holds which of the known ways in which offline sync fails in the field.

The table names a test for each, on the side where it belongs: the server (pytest), the phone (node) or both together
in a browser. A test that is renamed or taken away without the table makes it fail.
"""

from __future__ import annotations

from pathlib import Path

import pytest

TREE = Path(__file__).parents[2]
PULL, PUSH, CLOCKS, KILLED = (f"tests/sync/test_{name}.py" for name in ("pull", "push", "clocks", "killed"))
SYNC, OUTBOX, ANSWERS, LINE, TRIGGERS = (
    f"static/tests/store-{name}.test.js" for name in ("sync", "outbox", "answers", "partition", "triggers")
)
BROWSER, UPDATE, COMING_IN, OUTBOXES = (
    f"tests/browser/test_{name}.py" for name in ("sync", "update", "coming_in", "outboxes")
)

ROWS: dict[tuple[int, str], list[tuple[str, str]]] = {
    (1, "a cursor skips what commits out of order"): [(PULL, "test_1_a_late_commit_is_never_stepped_over")],
    (2, "ties on a time cursor"): [(PULL, "test_2_pages_of_equal_stamps")],
    (3, "clocks that are off; the last writer wins in silence"): [
        (PUSH, "test_3_a_clock_a_year_off_is_corrected_and_marked"),
        (CLOCKS, "test_3_of_two_amendments_the_later_deed_counts_and_the_loser_stays"),
    ],
    (4, "the checkpoint runs ahead of the data"): [
        (SYNC, "killed at any write of a pull: the cursor stands for what is kept, and the next round completes it"),
        (PULL, "test_8_pages_end_at_the_exact_size"),
    ],
    (5, "stored, and the answer is lost"): [
        (PUSH, "test_5_an_answer_lost_and_the_batch_cut_differently_counts_once"),
        (KILLED, "test_5_and_30_killed_while_pushing_nothing_answered_for_is_lost_and_nothing_counts_twice"),
        (SYNC, "the answer lost after storing: kept as unknown, asked again with the same ids, stored once"),
    ],
    (6, "one poisoned entry blocks the queue"): [
        (PUSH, "test_6_one_poison_entry_holds_up_nothing"),
        (SYNC, "nine of ten arrive; the tenth is in the tray with its reason, can be mended and sent under the same number"),
        (BROWSER, "test_6_a_refused_entry_is_seen_saved_to_a_file_mended_and_sent"),
    ],
    (7, "413 tried again for ever"): [
        (SYNC, "413: the batch is halved until it fits; an item too large alone is parked, and the rest arrives"),
        (PUSH, "test_a_body_over_two_mebibytes_is_413"),
    ],
    (8, "an endless loop at the exact batch size"): [
        (PUSH, "test_8_batch_sizes_up_to_the_limit"),
        (PULL, "test_8_pages_end_at_the_exact_size"),
        (SYNC, "${count} entries go out in ${Math.ceil(count / 500)} batches, and come in on another phone page by page"),
        (SYNC, "«more» without moving on does not loop for ever"),
    ],
    (9, "the queue dropped on 401 or another 4xx"): [
        (ANSWERS, "push answered by ${name}: ${fate}, and say «${link}»"),
        (PUSH, "test_a_revoked_token_and_none_are_401"),
    ],
    (10, "one person's queue sent as another's"): [
        (SYNC, "A queues and signs out, B signs in: nothing of A's goes; it goes when A is back"),
    ],
    (11, "two tabs send at once"): [
        (SYNC, "two tabs come online together: each item once with locks, and without them too"),
        (BROWSER, "test_11_two_tabs_come_online_together_and_each_entry_counts_once"),
        (PUSH, "test_a_racing_id_is_stored_once"),
    ],
    (12, "the browser closes the database under the page"): [
        (OUTBOX, "after the browser closed the connection a write opens it again"),
        (OUTBOX, "open() fails once: it is tried again; twice: the person hears it and nothing is called kept"),
    ],
    (13, "Blobs that cannot be read back"): [
        (OUTBOX, "a photo is kept as plain bytes, and reads back the same after a reload"),
    ],
    (14, "open() never settles"): [
        (OUTBOX, "open() that never settles ends in a message, and works when it is tried later"),
        (COMING_IN, "test_14_storage_that_never_opens_is_said_and_tried_again"),
    ],
    (15, "storage cleared with entries pending"): [
        (SYNC, "numbers go on after the database was cleared, and the lost ones show as a gap"),
        (COMING_IN, "test_15_a_phone_whose_storage_was_cleared_and_the_server_both_say_what_is_missing"),
    ],
    (16, "no room in the middle of a photo"): [
        (OUTBOX, "no room for a photo: it is given up, the record that names it is kept and sent, and the photo is marked lost"),
    ],
    (17, "an await commits a transaction early"): [
        (OUTBOX, "killed at any write while entries are kept: all or nothing, and the numbers have no hole"),
        (OUTBOX, "a transaction lost in the middle is repeated, and its entries are kept once"),
    ],
    (18, "an upgrade of the schema held up by an old tab"): [
        (OUTBOX, "a newer app in another tab upgrades at once; the old tab is told to reload; the outbox is whole"),
    ],
    (19, "an old app on a new server"): [
        (UPDATE, "test_19_an_app_too_old_stops_keeps_its_outbox_and_sends_it_once_it_is_new"),
        (OUTBOXES, "test_an_outbox_of_an_earlier_version_is_opened_and_sent"),
        (SYNC, "fields this app does not know survive the way in"),
        (PUSH, "test_unknown_fields_survive_a_round_trip"),
    ],
    (20, "reload loops and stale chunks after an update"): [
        (UPDATE, "test_20_two_new_versions_in_turn_reload_each_tab_once_and_lose_nothing"),
        (UPDATE, "test_20_the_worker_and_the_page_are_asked_for_anew_and_hashed_files_are_not"),
    ],
    (21, "no Background Sync"): [
        (TRIGGERS, "sent at the start, on «online», on «pageshow», when looked at, and soon after each entry, in the order made"),
        (TRIGGERS, "a timer asks again after a failure and while nothing happens; a closed sync hears nothing any more"),
    ],
    (22, "a captive portal answers 200 with HTML"): [
        (SYNC, "behind a captive portal nothing leaves the outbox, nothing is overwritten"),
        (BROWSER, "test_22_behind_a_captive_portal_nothing_leaves_the_outbox"),
    ],
    (23, "what was deleted comes back after long absence"): [
        (SYNC, "away past the horizon (${reason}): a whole snapshot, stale rows gone, the outbox sent"),
        (PULL, "test_a_position_past_the_end_or_of_another_epoch_is_gone"),
    ],
    (24, "large photos hold up the records"): [
        (SYNC, "photos go after the records, one at a time; a dropped line resumes where it was"),
    ],
    (25, "access given or taken after the cursor"): [
        (PULL, "test_an_edited_definition_reaches_who_pulls"),
        (PUSH, "test_a_revoked_token_and_none_are_401"),
    ],
    (26, "one's own entries fetched again"): [
        (PULL, "test_26_own_entries_come_back_without_bodies"),
        (SYNC, "own entries come back without bodies and lose nothing by it"),
    ],
    (27, "a silent stall after a partition"): [
        (LINE, "random cuts, seed ${seed}: once the line heals, queues are empty and all phones hold the same"),
    ],
    (28, "SQLite's lock upgrade ignores the busy timeout"): [
        (PUSH, "test_28_twenty_threads_read_then_write_without_an_error"),
    ],
    (29, "browsers relax durability"): [(OUTBOX, "transactions ask for strict durability")],
    (30, "no answer counted as a failure or as a success"): [
        (SYNC, "a timeout is unknown too: the request is given up, the entry stays"),
        (KILLED, "test_5_and_30_killed_while_pushing_nothing_answered_for_is_lost_and_nothing_counts_twice"),
    ],
}  # fmt: skip


def test_every_row_is_there() -> None:
    assert [number for number, _ in ROWS] == list(range(1, 31))


@pytest.mark.parametrize(("row", "tests"), ROWS.items(), ids=[f"{number} {what}" for number, what in ROWS])
def test_the_tests_that_hold_it_exist(row: tuple[int, str], tests: list[tuple[str, str]]) -> None:
    for path, name in tests:
        text = (TREE / path).read_text(encoding="utf-8")
        opening = f"def {name}(" if path.endswith(".py") else name
        assert opening in text, f"row {row[0]}: {path} has no test «{name}» any more"
