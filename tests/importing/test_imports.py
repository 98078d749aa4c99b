"""From a file to efforts: checked without writing, kept once, told in words, and safe to be cut off anywhere."""

import re
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes import claims
from athletes.efforts.write import effort_record, effort_void
from athletes.importing import run as import_run
from athletes.importing.read import at_once, names_explained, nothing_to_keep, roll, unused
from athletes.importing.run import requeue_silent, run
from athletes.importing.write import (
    FORGOTTEN_AFTER,
    import_begin,
    import_check,
    import_discard,
    import_keep,
    imports_forget,
)
from athletes.models import Athlete, Benchmark, Effort, Estimate, Import, ImportRemark, Link
from athletes.people.merge import athletes_merge
from athletes.words import POUND_KG
from tests import gym
from tests.importing.sheets.builders import workbook

State = Import.State
DAY = "2025-11-03"
WIDE = f"Athlete;2k row;Pull-ups;Date\nAthlete 0000;7:10;4;{DAY}\nAthlete 0001;7:05;x;{DAY}\n"


@pytest.fixture
def athletes(furnished) -> list[Athlete]:
    return gym.people(3)


@pytest.fixture
def bring(athletes, coach):
    """A file brought in and checked; with `keep` also kept."""

    def to(content: str | bytes, *, keep: bool = False, create: bool = False, tick: bool = False, **reading) -> Import:
        data = content.encode() if isinstance(content, str) else content
        source = import_begin(key=uuid4(), filename="tests.csv", content=data, by=coach)
        import_check(source=source, parts=[{**part, **reading} for part in source.reading["parts"]])
        run(source.pk)
        source.refresh_from_db()
        assert source.state == State.CHECKED, source.failure
        if keep:
            wanted = source.remarks.filter(kind="questioned").values_list("pk", flat=True) if tick else []
            import_keep(source=source, create_athletes=create, wanted=wanted)
            run(source.pk)
            source.refresh_from_db()
            assert source.state == State.DONE, source.failure
        return source

    return to


@pytest.fixture
def by_worker(monkeypatch):
    """Files are as if too long for a page to wait for."""
    monkeypatch.setattr("athletes.importing.read.AT_ONCE", 0)


def imported():
    return Effort.objects.filter(entered_by__isnull=False)


def test_checking_writes_nothing_but_what_there_is_to_say(bring):
    before = Effort.objects.count(), Athlete.objects.count(), Estimate.objects.count()
    source = bring(WIDE + f"Nina Nu;8:00;;{DAY}\nAthlete 0002;soon;;{DAY}\n")
    assert (Effort.objects.count(), Athlete.objects.count(), Estimate.objects.count()) == before
    counts = {
        "rows": 4,
        "results": 4,
        "kept": 3,
        "kept_of_newcomers": 1,
        "newcomers": 1,
        "refused": 1,
        "empty": 1,
        "here": 3,
    }
    assert source.counts == counts
    said = source.remarks.exclude(kind="kept").values_list("kind", "row", "column", "subject")
    assert set(said) == {("newcomer", 4, "", "Nina Nu"), ("refused", 5, "2k row", "Athlete 0002")}
    kept = source.remarks.filter(kind="kept").values_list("row", "subject", "benchmark", "result", "text")
    assert list(kept) == [
        (2, "Athlete 0000", "2000 m row", "7:10.0", ""),
        (2, "Athlete 0000", "pull-ups unbroken", "4 repetitions", ""),
        (3, "Athlete 0001", "2000 m row", "7:05.0", ""),
        (4, "Nina Nu", "2000 m row", "8:00.0", "Kept if the athlete is added."),
    ]


def test_new_facts_are_told_as_they_will_be_kept_and_once_each(bring, athletes, monkeypatch):
    monkeypatch.setattr(import_run, "BATCH", 1)
    Athlete.objects.filter(name="Athlete 0000").update(born=None, sex="", body_mass_kg=None, joined_on=None)
    row = f"2 Mar 1990;F;150 lb;1 Feb 2024;7:10;{DAY}"
    source = bring(
        f"Athlete;Born;Sex;Weight;Joined;2k row;Date\nAthlete 0000;{row}\nAthlete 0000;{row}\n"
        f"Nina Nu;;m;;;8:00;{DAY}\nAthlete 000;;f;;;8:10;{DAY}\n"
    )
    told = source.remarks.filter(kind="fact").values_list("row", "column", "subject", "text", "result")
    assert list(told) == [
        (2, "Born", "Athlete 0000", "Date of birth.", "2 Mar 1990"),
        (2, "Sex", "Athlete 0000", "Sex.", "female"),
        (2, "Weight", "Athlete 0000", "Body mass.", "68.04 kg"),
        (2, "Joined", "Athlete 0000", "Joined on.", "1 Feb 2024"),
        (4, "Sex", "Nina Nu", "Sex. Kept if the athlete is added.", "male"),
        (5, "Sex", "Athlete 000", "Sex. Kept once it is said who this is.", "female"),
    ]


def test_kept_results_are_efforts_like_any_other_and_the_estimates_know_them(bring, athletes, coach):
    bring(WIDE, keep=True)
    effort = Effort.objects.get(athlete=athletes[0], benchmark__slug="2000-m-row", entered_by=coach)
    assert (effort.value, effort.typed, effort.fixed, effort.performed_on.isoformat()) == (430.0, "7:10", 2000.0, DAY)
    assert effort.pk in Estimate.objects.get(athlete=athletes[0], engine="row").efforts
    assert imported().count() == 3


def test_a_kept_file_leaves_no_copy_of_its_rows(bring):
    checked = bring(WIDE)
    assert checked.content
    assert "Athlete 0001" in repr(checked.reading["parts"][0]["samples"])
    kept = bring(WIDE, keep=True)
    assert (bytes(kept.content), kept.reading["parts"][0]["samples"]) == (b"", [])


def test_none_at_all_comes_in_as_a_result_and_nobody_becomes_new_by_it(bring, athletes):
    file = f"Athlete;2k row;Pull-ups;Date\nAthlete 0000;7:10;0;{DAY}\nNina New;8:20;0;{DAY}\n"
    bring(file, keep=True, create=True)
    assert set(imported().filter(value=0).values_list("typed", "benchmark__slug")) == {("0", "pull-ups-unbroken")}
    assert imported().filter(value=0).count() == 2
    assert Athlete.objects.get(name="Nina New").joined_on is None


def test_the_same_file_twice_changes_nothing(bring):
    bring(WIDE, keep=True)
    rows = list(Effort.objects.order_by("pk").values())
    estimates = list(Estimate.objects.order_by("pk").values())
    again = bring(WIDE, keep=True)
    assert list(Effort.objects.order_by("pk").values()) == rows
    assert list(Estimate.objects.order_by("pk").values()) == estimates
    assert again.counts == {"rows": 2, "results": 3, "same": 3, "empty": 1, "here": 2}


def test_the_same_row_twice_in_a_file_is_one_effort(bring):
    twice = bring(WIDE + f"ATHLETE  0000;7:10.0;4;{DAY}\n", keep=True)
    assert (twice.counts["kept"], twice.counts["twice"], twice.counts.get("same")) == (3, 2, None)


def test_a_result_that_was_typed_before_or_voided_is_not_kept_again(bring, athletes, staff):
    row = Benchmark.objects.get(slug="2000-m-row")
    facts = {"performed_on": date.fromisoformat(DAY), "by": None, "confirmed": True}
    effort_record(athlete=athletes[0], benchmark=row, typed="7:10", **facts)
    wrong = effort_record(athlete=athletes[1], benchmark=row, typed="7:05", **facts)
    effort_void(effort=wrong, reason="Damper at 10.", by=staff)
    assert bring(WIDE, keep=True).counts["same"] == 2
    assert not Effort.objects.standing().filter(athlete=athletes[1], performed_on=DAY).exists()


def test_newcomers_are_added_only_when_the_coach_says_so(bring):
    file = f"Athlete;2k row;Sex;Weight (kg);Date\nNina Nu;8:00;f;61;{DAY}\nNina Nu;7:58;;;2025-11-10\n"
    left = bring(file, keep=True)
    assert (left.counts["without_athlete"], Athlete.objects.count()) == (2, 3)
    kept = bring(file, keep=True, create=True)
    nina = Athlete.objects.get(name="Nina Nu")
    assert (nina.sex, nina.body_mass_kg, nina.board_name) == ("female", 61.0, "Nina")
    assert (nina.efforts.count(), kept.counts["kept"]) == (2, 2)
    assert Link.objects.filter(athlete=nina, revoked_at=None).exists()
    assert nina.estimates.filter(engine="row").exists()


def test_names_on_the_board_stay_each_their_own(bring):
    names = ["Nina Nu", "Nina Oe", "Nina Ow", "Nina Nu-Oe"]
    bring("Athlete\n" + "\n".join(names) + "\n", keep=True, create=True)
    boards = Athlete.objects.filter(name__in=names).order_by("pk").values_list("board_name", flat=True)
    assert list(boards) == ["Nina", "Nina O.", "Nina Ow", "Nina N."]


def test_a_name_nearly_like_one_who_is_here_is_pointed_out(bring):
    source = bring(f"Athlete;2k row;Date\nAthlet 0002;7:10;{DAY}\n")
    assert "Like Athlete 0002, who is here" in source.remarks.get(kind="newcomer").text


@pytest.mark.parametrize(
    ("name", "doubt"),
    [
        ("Seun A.", "Like Oluwaseun Adelabi, who is here."),
        ("Liam", "Like Liam Farnworth, who is here."),
        ("Liam Farnwort", "Like Liam Farnworth, who is here."),
        ("Liam Oduya", ""),
        ("Max", "Is this a person?"),
        ("Rank 1", "Is this a person?"),
        ("Max Oduya", ""),
    ],
)
def test_who_may_be_here_already_is_asked_and_not_added_before_it_is_said(bring, make_athlete, name, doubt):
    make_athlete("Oluwaseun Adelabi", board_name="Seun")
    make_athlete("Liam Farnworth", board_name="Liam F")
    before = Athlete.objects.count()
    source = bring(f"Who;2k row;Date\n{name};7:10;{DAY}\n", keep=True, create=True)
    assert source.remarks.get(kind="newcomer").text == doubt
    assert Athlete.objects.count() == before + (not doubt)
    assert imported().count() == (not doubt)
    assert source.counts.get("without_athlete", 0) == bool(doubt)


def test_who_a_name_is_said_to_be_may_be_found_to_be_another_before_it_is_kept(bring, make_athlete, coach):
    seun, same = make_athlete("Oluwaseun Adelabi", board_name="Seun"), make_athlete("Olu Adelabi", board_name="Olu")
    athletes_merge(keep=same, gone=seun, by=coach)
    assert roll({"Seun A.": seun.pk, "Liam": None, "Nobody": 10**9}).said == {"seun a": same.pk, "liam": None}


def test_a_name_means_who_it_is_said_to_be_or_somebody_new(bring, make_athlete):
    seun = make_athlete("Oluwaseun Adelabi", board_name="Seun")
    make_athlete("Liam Farnworth", board_name="Liam F")
    file = f"Who;2k row;Date\nSeun A.;7:10;{DAY}\nLiam;7:20;{DAY}\n"
    source = bring(file)
    assert source.counts["doubtful"] == 2
    import_check(source=source, people={"Seun A.": seun.pk, "Liam": None})
    run(source.pk)
    source.refresh_from_db()
    assert (source.counts["here"], source.counts["newcomers"]) == (1, 1)
    import_keep(source=source, create_athletes=True)
    run(source.pk)
    assert sorted(imported().values_list("athlete__name", flat=True)) == ["Liam", "Oluwaseun Adelabi"]
    source.refresh_from_db()
    assert source.reading["people"] == {}  # names of people go with the file


def test_athletes_are_found_by_their_name_on_the_board(bring, athletes):
    bring(f"Nickname;2k row;Date\na0001;7:06;{DAY}\n", keep=True)
    assert imported().get().athlete == athletes[1]


def test_a_name_that_two_have_needs_the_name_on_the_board(bring, make_athlete):
    for board in ("Sam A.", "Sam B."):
        make_athlete("Sam Lee", board_name=board)
    file = "Athlete;Board;2k row;Date\nSam Lee;{};7:10;" + DAY + "\n"
    assert "Several athletes are called “Sam Lee”" in bring(file.format("")).remarks.get().text
    bring(file.format("sam b."), keep=True)
    assert imported().get().athlete.board_name == "Sam B."


def test_someone_elses_name_on_the_board_is_not_believed(bring):
    source = bring(f"Athlete;Board;2k row;Date\nZoe Hill;A0001;7:10;{DAY}\n")
    assert "“A0001” is Athlete 0001 on the board here, and not Zoe Hill." in source.remarks.get().text


def test_facts_fill_what_is_empty_and_overwrite_nothing(bring, athletes):
    Athlete.objects.filter(pk=athletes[0].pk).update(body_mass_kg=None, born="1990-01-02")
    source = bring("Athlete;Weight (kg);DOB\nAthlete 0000;72;1991-02-03\nAthlete 0001;99;\n", keep=True)
    athletes[0].refresh_from_db()
    assert (athletes[0].body_mass_kg, athletes[0].born.isoformat()) == (72.0, "1990-01-02")
    assert Athlete.objects.get(pk=athletes[1].pk).body_mass_kg == 61
    assert source.counts["facts"] == 1


def test_a_fact_that_differs_from_what_is_kept_is_told_once(bring, athletes):
    Athlete.objects.filter(pk=athletes[0].pk).update(body_mass_kg=82, born="2005-02-23", sex="male")
    rows = f"Athlete 0000;1990-01-01;male;99.5;7:10;{DAY}\nAthlete 0000;;m;99.5;7:09;2025-11-04\n"
    source = bring("Athlete;DOB;Sex;Weight kg;2k row;Date\n" + rows)
    told = source.remarks.exclude(kind="kept")
    assert list(told.values_list("kind", "row", "column", "subject", "text")) == [
        ("refused", 2, column, "Athlete 0000", f"{said}: left as it is. Change it on the athlete's page.")
        for column, said in (
            ("DOB", "Date of birth: kept 23 Feb 2005; the file says 1 Jan 1990"),
            ("Weight kg", "Body mass: kept 82 kg; the file says 99.5 kg"),
        )
    ]
    assert (source.counts["here"], source.counts["refused"], source.counts["kept"]) == (1, 2, 2)


def test_pounds_that_stand_in_the_format_of_a_cell_alone_are_pounds(bring, athletes):
    rows = [["Athlete", "Bodyweight", "Goblet squat", "Reps", "Date"], ["Athlete 0001", 176, 50, 5, DAY]]
    Athlete.objects.update(body_mass_kg=None)
    formats = {"B2": '0" lb"', "C2": '0.0\\ "lbs"'}
    bring(workbook(*rows, formats=formats), keep=True, tick=True)
    squat = imported().get()
    assert (squat.value, squat.repetitions) == (pytest.approx(50 * POUND_KG, abs=0.01), 5)
    assert Athlete.objects.get(name="Athlete 0001").body_mass_kg == pytest.approx(176 * POUND_KG, abs=0.1)


def test_a_mass_that_reads_the_same_in_pounds_is_no_difference(bring, athletes):
    Athlete.objects.filter(pk=athletes[0].pk).update(body_mass_kg=81.6)
    assert not bring("Athlete;Weight lb\nAthlete 0000;180\n").remarks.exists()


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        ("Athlete;Weight (kg)\nAthlete 0001;61\n", "Everything in this file is known already."),
        ("Athlete;Weight (kg)\nAthlete 0001;99\n", "whatever is not known already is left out"),
        ("Athlete;Weight (kg)\n", "There is no row below the headings"),
        ("Athlete;Weight (kg)\nNina Nu;61\n", ""),
        (WIDE, ""),
    ],
)
def test_it_is_told_why_there_is_nothing_to_keep(bring, file, sentence):
    said = nothing_to_keep(bring(file))
    assert sentence in said
    assert bool(said) == bool(sentence)


def test_columns_that_nothing_uses_are_named(bring):
    source = bring(f"Athlete;2k row;Shoe;Old;Date\nAthlete 0000;7:10;43;x;{DAY}\n", keep=True)
    assert unused(source) == ["“Shoe”"]
    said = nothing_to_keep(bring(f"Athlete;2k row;Shoe;Date\nAthlete 0000;7:10;43;{DAY}\n"))
    assert said == "There is nothing to keep: what stands in the columns that are used is known already."


def test_a_sheet_of_one_benchmark_headed_by_days_is_read(bring):
    file = workbook(["Name", date(2025, 3, 2), "2025-06-01"], ["Athlete 0000", "7:10", "7:05"], sheet="2k row")
    bring(file, keep=True)
    found = imported().order_by("performed_on").values_list("benchmark__slug", "performed_on", "value")
    assert list(found) == [("2000-m-row", date(2025, 3, 2), 430), ("2000-m-row", date(2025, 6, 1), 425)]


def test_lifts_without_repetitions_are_told_before_they_are_kept(bring):
    source = bring(f"Athlete;Goblet squat (kg);Date\nAthlete 0000;40;{DAY}\nAthlete 0001;40x5;{DAY}\n")
    assert source.counts["once"] == 1
    told = source.remarks.filter(kind="kept").values_list("row", "text")
    assert list(told) == [(2, "No repetitions are said, so it counts as one."), (3, "")]


def test_what_cannot_be_right_is_left_out_and_what_surprises_is_kept_only_when_ticked(bring):
    file = f"Athlete;2k row;Pull-ups;Date\nAthlete 0000;0:20;90;{DAY}\nNina Nu;0:25;300;{DAY}\n"
    source = bring(file, keep=True, create=True)
    refused, questioned = (
        dict(source.remarks.filter(kind=kind).values_list("row", "text")) for kind in ("refused", "questioned")
    )
    assert "“0:20”: This cannot be right as it stands." in refused[2]
    assert "far better than expected for this athlete. Is it right? About 4 repetitions was" in questioned[2]
    assert set(refused) == set(questioned) == {2, 3}
    assert not imported().exists()
    bring(file, keep=True, create=True, tick=True)
    asked = "This is far better than expected for this athlete. Is it right?"
    assert all(effort.question.startswith(asked) for effort in imported())
    assert imported().count() == 2


@pytest.mark.parametrize(
    ("heading", "typed", "asked"),
    [
        ("Goblet squat (lb)", "400x5", r"“400 lb × 5”: .* About \d+ lb × 5 was expected\."),
        ("Goblet squat (kg)", "3x120", r"“3 kg × 120”: .* Did you mean 120 kg × 3\?"),
        ("Goblet squat (lb)", "5x85", r"“5 lb × 85”: .* Did you mean 85 lb × 5\?"),
        ("2k row (s)", "285", r"“4:45\.0”: .* About \d:\d\d\.\d was expected\."),
        ("Pull-ups", "40", r"“40 repetitions”: .* About \d+ repetitions was expected\."),
    ],
)
def test_what_is_asked_speaks_as_the_file_does(bring, heading, typed, asked):
    source = bring(f"Athlete;{heading};Date\nAthlete 0000;{typed};{DAY}\n", load_unit="kg")
    assert re.fullmatch(asked, source.remarks.get(kind="questioned").text)


def test_a_time_with_a_point_may_be_meant_with_a_colon(bring):
    source = bring(f"Athlete;2k row;Date\nAthlete 0000;7.42;{DAY}\n")
    assert source.remarks.get().text.startswith("“7:42.0”: “7.42” cannot be seconds. Is it minutes and seconds?")


def test_rows_are_counted_below_the_headings(bring, monkeypatch):
    source = bring("Tests\n" + WIDE)
    assert source.reading["parts"][0]["rows"] == 2
    monkeypatch.setattr("athletes.importing.read.AT_ONCE", 2)
    assert at_once(source)


def test_what_surprises_only_since_the_coach_has_looked_is_kept_with_its_question(bring, athletes):
    source = bring(f"Athlete;2k row;Date\nAthlete 0000;7:10;{DAY}\n")
    assert not source.remarks.exclude(kind="kept").exists()
    row = Benchmark.objects.get(slug="2000-m-row")
    for days, typed in enumerate(("10:40", "10:38", "10:41", "10:39")):  # meanwhile
        day = date.fromisoformat(DAY) + timedelta(days=days)
        effort_record(athlete=athletes[0], benchmark=row, typed=typed, performed_on=day, by=None, confirmed=True)
    import_keep(source=source, create_athletes=False, wanted=[])
    run(source.pk)
    assert "far better than expected" in imported().get().question


def test_many_repetitions_of_a_lift_are_questioned_and_calories_of_resting_refused(bring):
    file = f"Athlete;Goblet squat;1 min row calories;Date\nAthlete 0000;30x15;2;{DAY}\n"
    source = bring(file)
    assert "More than 10 repetitions" in source.remarks.get(kind="questioned").text
    assert "monitor counts at rest" in source.remarks.get(kind="refused").text


def test_an_unknown_name_of_a_benchmark_is_asked_once_and_then_known(bring):
    file = "Athlete;Test;Result;Date\n" + f"Athlete 0000;The Monster;7:10;{DAY}\nAthlete 0001;the monster;7:12;{DAY}\n"
    source = bring(file)
    assert source.remarks.get(kind="unknown").subject == "The Monster"
    assert source.remarks.filter(kind="refused").count() == 2
    import_check(source=source, names={"The Monster": Benchmark.objects.get(slug="2000-m-row").pk})
    run(source.pk)
    source.refresh_from_db()
    assert (source.counts["kept"], source.remarks.exclude(kind="kept").count()) == (2, 0)


def test_headings_are_remembered_as_a_coach_said_and_not_as_they_were_guessed(bring):
    row, pulls = (Benchmark.objects.get(slug=slug).pk for slug in ("2000-m-row", "pull-ups-unbroken"))
    file = f"Athlete;The Monster;Pull-ups;Date\nAthlete 0000;7:10;4;{DAY}\n"
    bring(file, keep=True, uses=["name", f"result:{row}", f"result:{pulls}", "day"])
    assert names_explained() == {"The Monster": row}
    again = bring(file.replace("7:10", "7:11"), keep=True)
    assert again.reading["parts"][0]["uses"][1] == f"result:{row}"
    Import.objects.exclude(pk=again.pk).delete()
    assert names_explained() == {"The Monster": row}  # it is known as long as files are headed so


def test_an_import_sent_twice_from_one_page_is_one(athletes, coach, staff):
    key, sent = uuid4(), {"filename": "tests.csv", "content": WIDE.encode()}
    assert import_begin(key=key, by=coach, **sent) == import_begin(key=key, by=coach, **sent)
    for other in ({"by": staff}, {"by": coach, "content": b"Athlete\nAda"}):
        with pytest.raises(ValidationError, match="Reload the page"):
            import_begin(**{"key": key, **sent, **other})


def test_what_cannot_be_read_is_told_and_not_kept(coach, db):
    with pytest.raises(ValidationError, match="The file is empty"):
        import_begin(key=uuid4(), filename="a.csv", content=b"", by=coach)
    assert not Import.objects.exists()


def test_a_step_that_is_not_due_is_refused(bring):
    source = bring(WIDE, keep=True)
    for step in (lambda: import_keep(source=source, create_athletes=False), lambda: import_check(source=source)):
        with pytest.raises(ValidationError, match="has gone on meanwhile"):
            step()
    assert bytes(source.content) == b""  # the file itself is no longer needed
    import_discard(source=source)
    assert imported().count() == 3


def test_a_file_that_is_being_worked_on_is_not_forgotten(bring, by_worker):
    source = bring(WIDE)
    import_keep(source=source, create_athletes=False)
    with pytest.raises(ValidationError, match="being worked on"):
        import_discard(source=source)


def test_files_that_nobody_goes_on_with_are_forgotten_after_a_week(bring):
    idle, fresh = bring(WIDE), bring(WIDE)
    Import.objects.filter(pk=idle.pk).update(heartbeat_at=timezone.now() - FORGOTTEN_AFTER - timedelta(minutes=1))
    assert imports_forget() > 0
    assert list(Import.objects.all()) == [fresh]


class CutOff(BaseException):
    """The worker's machine lost its power."""


@pytest.fixture
def many(athletes, by_worker, monkeypatch) -> str:
    """A file of several batches, with newcomers in each."""
    monkeypatch.setattr(import_run, "BATCH", 10)
    rows = [f"Member {n % 40:02d};{7 + n // 40}:{n % 50:02d};{DAY}" for n in range(100)]
    return "Athlete;2k row;Date\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize("after", [1, 5, 9, 12])
def test_cut_off_anywhere_another_worker_goes_on_and_doubles_nothing(bring, many, monkeypatch, after):
    source = bring(many)
    import_keep(source=source, create_athletes=True)
    calls, real = [], import_run.beat

    def beat(*args, **changes):
        calls.append(changes)
        if len(calls) == 2 * after:
            raise CutOff
        real(*args, **changes)

    with monkeypatch.context() as patch:
        patch.setattr(import_run, "beat", beat)
        with pytest.raises(CutOff):
            run(source.pk)
    assert requeue_silent() == {}  # the heartbeat is fresh: it may be alive
    Import.objects.filter(pk=source.pk).update(heartbeat_at=timezone.now() - timedelta(minutes=2))
    assert requeue_silent() == {source.pk: True}
    run(source.pk)
    source.refresh_from_db()
    assert (source.state, source.attempts) == (State.DONE, 2)
    assert imported().count() == 100
    assert Athlete.objects.filter(name__startswith="Member").count() == 40
    assert Estimate.objects.filter(athlete__name__startswith="Member", engine="row").count() == 40
    assert (source.counts["kept"], source.counts["newcomers"]) == (100, 40)


def test_a_worker_that_lost_its_claim_writes_nothing_more(bring, many, monkeypatch):
    source = bring(many)
    import_keep(source=source, create_athletes=True)
    real = import_run.take

    def stolen(*args, **options):
        Import.objects.filter(pk=source.pk).update(claim=uuid4())
        return real(*args, **options)

    monkeypatch.setattr(import_run, "take", stolen)
    run(source.pk)
    assert not imported().exists()


def test_a_worker_that_dies_again_and_again_is_given_up_with_a_reason(bring, by_worker):
    source = bring(WIDE)
    import_keep(source=source, create_athletes=False)
    long_ago = timezone.now() - timedelta(minutes=2)
    Import.objects.filter(pk=source.pk).update(attempts=claims.MOST_ATTEMPTS, heartbeat_at=long_ago)
    assert requeue_silent() == {}
    source.refresh_from_db()
    assert (source.state, "cut off 4 times" in source.failure) == (State.FAILED, True)


def test_an_error_of_ours_is_told_and_keeping_can_be_tried_again(bring, by_worker, monkeypatch):
    source = bring(WIDE)
    import_keep(source=source, create_athletes=False)
    with monkeypatch.context() as patch:
        patch.setattr(import_run, "estimates_refresh", lambda **_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            run(source.pk)
    source.refresh_from_db()
    assert source.state == State.FAILED
    assert "nothing is kept twice" in source.failure
    import_check(source=source)
    run(source.pk)
    source.refresh_from_db()
    assert not nothing_to_keep(source)  # every result is known by now, and the estimates are not
    import_keep(source=source, create_athletes=False)
    run(source.pk)
    effort = imported().filter(benchmark__slug="2000-m-row").first()
    assert effort.pk in Estimate.objects.get(athlete=effort.athlete, engine="row").efforts  # left behind before
    assert imported().count() == 3


def test_someone_added_at_the_same_moment_is_found_and_not_doubled(bring, by_worker, monkeypatch):
    source = bring(f"Athlete;2k row;Date\nNina Nu;8:00;{DAY}\n")
    import_keep(source=source, create_athletes=True)
    real = import_run.take

    def meanwhile(*args, **options):
        if not Athlete.objects.filter(name="Nina Nu").exists():
            Athlete.objects.create(name="Nina Nu", board_name="Nina")
        monkeypatch.setattr(import_run, "take", real)
        return real(*args, **options)

    monkeypatch.setattr(import_run, "take", meanwhile)
    run(source.pk)
    assert Athlete.objects.filter(name="Nina Nu").count() == 1
    assert imported().count() == 1


def test_a_batch_costs_the_same_queries_however_many_athletes_and_rows(bring, by_worker, furnished):
    def queries(athletes: int, rows: int) -> int:
        gym.people(athletes)
        lines = [f"Athlete {n:04d};{7 + n // 60}:{n % 60:02d};{DAY}" for n in range(rows)]
        source = bring("Athlete;2k row;Date\n" + "\n".join(lines) + "\n")
        import_keep(source=source, create_athletes=False)
        with CaptureQueriesContext(connection) as captured:
            run(source.pk)
        inserts = sum("INSERT" in query["sql"] for query in captured)  # SQLite takes only so many values in one
        return len(captured) - inserts

    assert queries(10, 5) == queries(40, 40)


def test_rows_of_remarks_are_as_many_as_bad_cells(bring):
    lines = [f"Athlete 0000;soon {n};{DAY}" for n in range(1500)]
    source = bring("Athlete;2k row;Date\n" + "\n".join(lines) + "\n")
    assert ImportRemark.objects.filter(source=source, kind="refused").count() == 1500
