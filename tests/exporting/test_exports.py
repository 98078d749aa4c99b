"""What goes out as files: complete, streamed, harmless in spreadsheets, and the same when it comes in again."""

import csv
import io
import json
from datetime import date
from uuid import uuid4

import pytest

from athletes.efforts.write import effort_record, effort_void
from athletes.exporting.tables import csv_pieces, json_pieces
from athletes.gym.read import today
from athletes.importing.run import run
from athletes.importing.sheets.reading import open_table
from athletes.importing.write import import_begin, import_check
from athletes.models import Athlete, Effort, Estimate, Movement
from tests import gym

KINDS = ("csv", "xlsx", "json")


def content(answer) -> bytes:
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def read_csv(data: bytes) -> list[dict]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.fixture
def athletes(furnished, staff):
    Movement.objects.create(name="Burpee", slug="burpee", kind="repetitions", paced=True)
    found = gym.people(4)
    row = gym.Benchmark.objects.get(slug="2000-m-row")
    facts = {"athlete": found[0], "benchmark": row, "performed_on": today(), "by": staff, "confirmed": True}
    effort_void(effort=effort_record(typed="7:20", **facts), reason="=Damper", by=staff)
    effort_record(typed="7:21.5", **facts)
    return found


def test_efforts_go_out_with_everything_that_was_kept(coach_client, athletes):
    rows = read_csv(content(coach_client.get("/athletes/export/efforts.csv")))
    assert len(rows) == Effort.objects.count()
    wrong = next(row for row in rows if row["voided"])
    assert (wrong["athlete"], wrong["result"], wrong["value"], wrong["unit"]) == ("Athlete 0000", "7:20", "440.0", "s")
    assert wrong["void reason"] == "'=Damper"


def test_json_has_text_as_it_is_and_estimates_in_full(coach_client, athletes):
    efforts = json.loads(content(coach_client.get("/athletes/export/efforts.json")))
    assert any(row["void reason"] == "=Damper" for row in efforts)
    estimates = json.loads(content(coach_client.get("/athletes/export/estimates.json")))
    assert len(estimates) == Estimate.objects.count()
    row = next(row for row in estimates if row["of"] == "rowing ergometer")
    kept = Estimate.objects.get(athlete__name=row["athlete"], engine="row")
    assert (row["mean"], row["covariance"]) == (kept.mean, kept.covariance)
    assert row["firmness"] in ("firm", "fair", "rough")
    burpees = [row for row in estimates if row["of"] == "Burpee"]
    assert len(burpees) == len(athletes)
    for row in burpees:  # the most in a minute of who was never tested, about what is usual for the movement
        rate, reserve, ramp = (value for name, value in row.items() if name.split()[0] in ("CP", "W′", "k"))
        assert 15 < rate + reserve / (60 + ramp) < 60
        assert row["best [repetitions, s or kg]"] is None


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["athletes", "efforts", "estimates"])
def test_every_table_goes_out_in_every_kind(coach_client, athletes, name, kind):
    answer = coach_client.get(f"/athletes/export/{name}.{kind}")
    assert f'filename="{name}-{today()}.{kind}"' in answer.headers["Content-Disposition"]
    data = content(answer)
    rows = len(json.loads(data)) if kind == "json" else len(list(open_table(data).rows())) - 1
    assert rows == {"athletes": Athlete, "efforts": Effort, "estimates": Estimate}[name].objects.count()


@pytest.mark.parametrize("path", ["limitations.csv", "efforts.pdf", "efforts", "..", "accounts.csv"])
def test_nothing_else_goes_out(coach_client, db, path):
    assert coach_client.get(f"/athletes/export/{path}").status_code == 404


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_exported_efforts_come_in_again_and_are_all_known(coach_client, coach, athletes, kind):
    Athlete.objects.filter(pk=athletes[1].pk).update(name="=Ada", board_name="+Ada")
    Effort.objects.filter(typed__in=("7:00", "5")).delete()  # of this test gym: typed there as one for many values
    row, pulls = (gym.Benchmark.objects.get(slug=slug) for slug in ("2000-m-row", "pull-ups-unbroken"))
    squat = gym.Benchmark.objects.get(slug="goblet-squat")
    for benchmark, typed in ((row, "7:31"), (pulls, "9"), (squat, "30x5"), (row, "1:52.4/500")):
        effort_record(
            athlete=athletes[1],
            benchmark=benchmark,
            typed=typed,
            performed_on=date(2025, 11, 3),
            by=None,
            confirmed=True,
        )
    data = content(coach_client.get(f"/athletes/export/efforts.{kind}"))
    source = import_begin(key=uuid4(), filename=f"efforts.{kind}", content=data, by=coach)
    import_check(source=source)
    run(source.pk)
    source.refresh_from_db()
    standing = Effort.objects.standing().count()
    assert (source.counts["same"], source.counts.get("kept", 0), source.counts["empty"]) == (standing, 0, 1)
    assert not source.remarks.exists()


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_exported_athletes_come_in_again_somewhere_else(coach_client, coach, athletes, kind):
    Athlete.objects.filter(pk=athletes[0].pk).update(
        name="@Élise", board_name="-É", born="1990-05-03", joined_on="2020-01-02"
    )
    before = list(
        Athlete.objects.order_by("name").values("name", "board_name", "born", "sex", "body_mass_kg", "joined_on")
    )
    data = content(coach_client.get(f"/athletes/export/athletes.{kind}"))
    Athlete.objects.all().delete()
    source = import_begin(key=uuid4(), filename=f"athletes.{kind}", content=data, by=coach)
    import_check(source=source)
    run(source.pk)
    from athletes.importing.write import import_keep

    import_keep(source=source, create_athletes=True)
    run(source.pk)
    after = Athlete.objects.order_by("name").values("name", "board_name", "born", "sex", "body_mass_kg", "joined_on")
    assert list(after) == before


def test_rows_are_written_as_they_are_read():
    taken = []

    def rows():
        for number in range(3000):
            taken.append(number)
            yield (number,)

    for pieces, least in ((csv_pieces, 499), (json_pieces, 1)):
        taken.clear()
        stream = pieces(["n"], rows())
        next(stream), next(stream)
        assert least <= len(taken) <= 500


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("knee;=1+1", "knee;'=1+1"),
        ("knee\t@now", "knee\t'@now"),
        ("two\n-lines", "two\n'-lines"),
        ("6-8 reps; easy = good", "6-8 reps; easy = good"),
    ],
)
def test_no_cell_of_a_csv_begins_a_formula_wherever_a_spreadsheet_parts_it(text, written):
    data = b"".join(csv_pieces(["note"], [(text,)]))
    assert read_csv(data) == [{"note": written}]


def test_the_number_of_queries_does_not_grow(coach_client, athletes, django_assert_num_queries):
    gym.people(30)
    for name in ("athletes", "efforts", "estimates"):
        with django_assert_num_queries(6):  # with the entry of who took it
            content(coach_client.get(f"/athletes/export/{name}.json"))


def test_an_empty_gym_gives_empty_tables(coach_client, db):
    assert json.loads(content(coach_client.get("/athletes/export/efforts.json"))) == []
    assert len(read_csv(content(coach_client.get("/athletes/export/efforts.csv")))) == 0


def test_the_page_offers_every_table(coach_client, db):
    page = coach_client.get("/athletes/export/").content.decode()
    for path in (
        "export/athletes.csv",
        "export/efforts.xlsx",
        "export/estimates.json",
        "export/targets.csv",
        "export/logs.json",
    ):
        assert path in page
