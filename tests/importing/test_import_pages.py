"""The way of a spreadsheet through the pages: look over, check, keep."""

from io import BytesIO
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook
from openpyxl.comments import Comment

from athletes.importing.forms import NamesForm
from athletes.importing.read import doubtful_names, unknown_names
from athletes.importing.run import run
from athletes.models import Athlete, Benchmark, Effort, Import
from tests import gym
from tests.importing.sheets.builders import workbook

DAY = "2025-11-03"
WIDE = f"Athlete;2k row;Pull-ups;Date\nAthlete 0000;7:10;4;{DAY}\nNina Nu;7:05;x;{DAY}\nAthlete 0001;soon;;{DAY}\n"
LONG = "Athlete,Test,Result,Date\nAthlete 0000,The Monster,7:10,03/11/2025\nAthlete 0001,2k row,7:12,05/06/2025\n"


@pytest.fixture
def upload(furnished, coach_client):
    gym.people(3)

    def send(content: str | bytes, name: str = "tests.csv", key=None) -> str:
        """The address of the page that the upload leads to."""
        data = content.encode() if isinstance(content, str) else content
        sent = {"file": SimpleUploadedFile(name, data), "key": key or uuid4()}
        answer = coach_client.post("/athletes/import/", sent)
        assert answer.status_code == 302, answer.content.decode()
        return answer.headers["Location"]

    return send


def columns(source: Import, **changes) -> dict:
    """What the page of columns sends when nothing is changed there but `changes`."""
    [part] = source.reading["parts"]
    uses = {f"use-{index}": use for index, use in enumerate(part["uses"])}
    sent = {
        **uses,
        "order": part["order"],
        "load_unit": part["load_unit"],
        "day": "",
        "clock": part["clock"],
        **changes,
    }
    return {f"0-{name}": value for name, value in sent.items()}


def choose(address: str, choice, place: int = 0) -> dict:
    """What the page sends when `choice` is made for one of the names that it asks about."""
    form = asked(address)
    return {list(form.fields)[place]: choice}


def asked(address: str) -> NamesForm:
    source = Import.objects.get(pk=int(address.rstrip("/").split("/")[-1]))
    return NamesForm(names=unknown_names(source), people=doubtful_names(source))


def work(address: str) -> Import:
    source = Import.objects.get(pk=int(address.rstrip("/").split("/")[-1]))
    run(source.pk)
    source.refresh_from_db()
    return source


def test_a_file_goes_all_the_way(upload, coach_client):
    address = upload(WIDE)
    page = coach_client.get(address).content.decode()
    assert "UTF-8, columns divided by semicolons" in page
    assert "Athlete 0000 · Nina Nu · Athlete 0001" in page
    source = Import.objects.get()
    assert coach_client.post(address, columns(source)).headers["Location"] == address
    page = coach_client.get(address).content.decode()
    assert page.index("7:10.0") < page.index("Keep what was found")  # what will be kept, before it is
    assert "“soon” is not understood." in coach_client.get(f"{address}?show=refused").content.decode()
    assert "Add the 1 athlete who is not here yet" in page
    assert "nobody here has this name" in coach_client.get(f"{address}?show=newcomer").content.decode()
    coach_client.post(f"{address}keep/", {"create_athletes": "on"})
    work(address)
    page = coach_client.get(address).content.decode()
    assert "3 results are kept" in page
    assert Athlete.objects.filter(name="Nina Nu").exists()
    assert "3 results kept" in coach_client.get("/athletes/import/").content.decode()


def test_keeping_ticked_rows_leads_back_to_the_import(upload, coach_client):
    address = upload(f"Athlete;Goblet squat (kg);Date\nAthlete 0000;200;{DAY}\nAthlete 0001;200;{DAY}\n")
    source = Import.objects.get()
    coach_client.post(address, columns(source))
    asked = list(source.remarks.filter(kind="questioned").values_list("pk", flat=True))
    assert len(asked) == 2
    assert asked[-1] != source.pk
    assert "goblet squat, 3 Nov 2025</span> “200 kg × 1”" in coach_client.get(address).content.decode()
    answer = coach_client.post(f"{address}keep/", {"want": asked}, follow=True)
    assert answer.redirect_chain == [(address, 302)]
    assert "2 results are kept" in answer.content.decode()


def test_a_long_file_is_left_to_the_worker(upload, coach_client, monkeypatch):
    monkeypatch.setattr("athletes.importing.read.AT_ONCE", 0)
    address = upload(WIDE)
    coach_client.post(address, columns(Import.objects.get()))
    assert "waiting for the worker" in coach_client.get(address).content.decode()
    assert "HX-Refresh" not in coach_client.get(f"{address}progress/").headers
    work(address)
    assert coach_client.get(f"{address}progress/").headers["HX-Refresh"] == "true"


def test_what_the_worker_is_at_can_be_stopped_also_twice(upload, coach_client, monkeypatch):
    monkeypatch.setattr("athletes.importing.read.AT_ONCE", 0)
    address = upload(WIDE)
    coach_client.post(address, columns(Import.objects.get()))
    assert "Stop it</button>" in coach_client.get(address).content.decode()
    page = coach_client.post(f"{address}cancel/", follow=True).content.decode()
    assert "Stopped. Nothing new is kept." in page
    assert "Look over how the file is read." in page
    assert "It was over already." in coach_client.post(f"{address}cancel/", follow=True).content.decode()
    assert work(address).state == "matching"  # the job that was sent finds nothing to do
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    coach_client.post(f"{address}keep/")
    assert "Stop it, and take back what is kept" in coach_client.get(address).content.decode()
    coach_client.post(f"{address}cancel/")
    source = work(address)
    assert (source.state, Effort.objects.filter(import_key=source.key).count()) == ("matching", 0)


def test_a_check_that_is_stopped_takes_nothing_back_that_was_kept_before(upload, coach_client, monkeypatch):
    address = upload(WIDE)
    coach_client.post(address, columns(Import.objects.get()))
    coach_client.post(f"{address}keep/")
    kept = Effort.objects.filter(voided_at=None).count()
    assert kept
    Import.objects.update(state="checking")  # as where a keeping failed half way and the columns are sent again
    coach_client.post(f"{address}cancel/")
    assert Import.objects.get().state == "matching"
    assert Effort.objects.filter(voided_at=None).count() == kept


def test_nobody_is_added_without_the_tick(upload, coach_client):
    address = upload(WIDE)
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    page = coach_client.get(address).content.decode()
    assert "Add the 1 athlete who is not here yet" in page
    assert "Check again with these" not in page  # no name is asked about
    coach_client.post(f"{address}keep/")
    work(address)
    assert not Athlete.objects.filter(name="Nina Nu").exists()
    assert "results of athletes who are not here" in coach_client.get(address).content.decode()


def test_dates_that_could_be_two_days_are_asked(upload, coach_client):
    address = upload(LONG)
    page = coach_client.get(address).content.decode()
    assert "day/month/year: 03/11/2025 is 3 Nov 2025" in page
    assert "month/day/year: 03/11/2025 is 11 Mar 2025" in page
    source = Import.objects.get()
    assert "could be two days. Say which." in coach_client.post(address, columns(source)).content.decode()
    coach_client.post(address, columns(source, order="month"))
    source = work(address)
    assert (source.state, source.reading["parts"][0]["order"]) == ("checked", "month")


def test_minutes_with_a_point_are_asked(upload, coach_client):
    address = upload(f"Athlete;2k row (min);Date\nAthlete 0000;7.10;{DAY}\nAthlete 0001;7,05;{DAY}\n")
    page = coach_client.get(address).content.decode()
    assert "minutes and seconds: 7.10 is 7:10" in page
    assert "parts of a minute: 7.10 is 7:06.0" in page
    coach_client.post(address, columns(Import.objects.get(), point="hundredths"))
    assert work(address).remarks.get(row=2).result == "7:06.0"
    coach_client.post(address, columns(Import.objects.get(), point="seconds"))
    assert work(address).remarks.get(row=2).result == "7:10.0"


def test_what_is_said_of_minutes_with_a_point_holds_for_plain_numbers_that_cannot_be_seconds(upload, coach_client):
    rows = f"Athlete 0000;8.22;6.10;{DAY}\nAthlete 0001;7.21;5.52;{DAY}\n"
    address = upload("Athlete;2k row (min);1500 m run;Date\n" + rows)
    coach_client.post(address, columns(Import.objects.get(), point="seconds"))
    kept = work(address).remarks.filter(kind="kept", column="1500 m run").values_list("result", flat=True)
    assert list(kept) == ["6:10.0", "5:52.0"]
    coach_client.post(address, columns(Import.objects.get(), point="hundredths"))
    assert work(address).remarks.get(kind="kept", column="1500 m run", row=2).result == "6:06.0"


def test_plain_numbers_that_cannot_be_seconds_are_asked_about_where_nothing_is_said_of_minutes(upload, coach_client):
    address = upload(f"Athlete;2k row;Date\nAthlete 0000;7.10;{DAY}\nAthlete 0001;7:12;{DAY}\n")
    coach_client.post(address, columns(Import.objects.get()))
    asked = work(address).remarks.get(kind="questioned")
    assert asked.text.startswith("“7:10.0”: “7.10” cannot be seconds. Is it minutes and seconds?")
    page = coach_client.post(f"{address}keep/", {"want": asked.pk}, follow=True).content.decode()
    assert "2 results are kept" in page
    assert Effort.objects.filter(value=430, typed="7:10", entered_by__isnull=False).count() == 1


def test_dates_of_a_column_that_the_coach_chooses_are_seen_too(upload, coach_client):
    rows = "Athlete 0000,7:10,13/11/2025\nAthlete 0001,7:12,03/11/2025\nAthlete 0002,,not yet\n"
    address = upload("Athlete,2k row,Sessions\n" + rows)
    source = Import.objects.get()
    assert source.reading["parts"][0]["uses"][2] == ""
    answer = coach_client.post(address, columns(source, **{"use-2": "day"}))
    assert answer.status_code == 302
    source = work(address)
    assert (source.reading["parts"][0]["order"], source.counts["kept"]) == ("day", 2)


def test_dates_that_another_column_settles_are_not_asked(upload, coach_client):
    rows = "Athlete 0000,7:10,1/2/2025,10/30/2026 or so,,1/2/1991\nAthlete 0001,7:12,1/3/2025,10/30/2026,,1/2/1991\n"
    address = upload("Athlete,2k row,Date,Paid until,Notes,Born\n" + rows)
    source = Import.objects.get()
    assert (source.reading["parts"][0]["order"], source.reading["parts"][0]["uses"][3]) == ("month", "")
    page = coach_client.get(address).content.decode()
    assert "10/30/2026 can only be month/day." in page
    assert '<option value="month" selected>' in page
    coach_client.post(address, columns(source))
    assert work(address).state == "checked"


def test_dates_that_contradict_each_other_are_asked_whatever_else_the_file_holds(upload):
    rows = "Athlete 0000,7:10,13/11/2025,10/30/2026 or so\nAthlete 0001,7:12,11/13/2025,10/30/2026\n"
    upload("Athlete,2k row,Date,Paid until\n" + rows)
    assert Import.objects.get().reading["parts"][0]["open"]


def test_columns_that_are_not_recognised_stand_by_themselves_and_guesses_are_called_so(upload, coach_client):
    address = upload(f"Athlete;Shoe size;2k row;Noted\nAthlete 0000;43;7:10;{DAY}\n")
    known, unknown = coach_client.get(address).content.decode().split("Not recognised: what is this?")
    assert ("Noted" in known, "Shoe size" in known, "Shoe size" in unknown) == (True, False, True)
    assert known.count("A guess from what stands in the column") == 1
    assert "Not recognised" not in coach_client.get(upload(WIDE)).content.decode()


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        ("Athlete;Weight kg\nAthlete 0001;61\n", "Everything in this file is known already."),
        ("Athlete;Weight kg\n", "There is no row below the headings"),
    ],
)
def test_nothing_to_keep_is_said_and_not_offered(upload, coach_client, file, sentence):
    address = upload(file)
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    page = coach_client.get(address).content.decode()
    assert sentence in page
    assert "Keep what was found" not in page


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        ("Athlete;Weight kg\nAthlete 0001;61\n", "Nothing of this file is new"),
        ("Athlete;DOB\nAthlete 0000;1990-02-03\n", "Facts of 1 athlete are filled in."),
        ("Athlete\nNina Nu\n", "1 athlete is added."),
        ("Athlete;Weight kg\nAthlete 0001;99\n", "whatever is not known already is left out"),
    ],
)
def test_an_import_without_new_results_ends_in_words_that_fit(upload, coach_client, file, sentence):
    address = upload(file)
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    coach_client.post(f"{address}keep/", {"create_athletes": "on"})
    work(address)
    page = coach_client.get(address).content.decode()
    assert sentence in page
    assert "estimates that rest on" not in page
    assert "no result kept" in coach_client.get("/athletes/import/").content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"use-0": ""}, "Say which column holds the names"),
        ({"use-1": "name"}, "Several columns are chosen as name"),
        ({"use-1": "result"}, "Choose the benchmark of all results, or"),
        ({"use-3": ""}, "No column holds the day of these results"),
        ({"use-3": "", "day": "soon"}, "Enter a valid date"),
        ({"use-1": "result:999"}, "Select a valid choice"),
    ],
)
def test_columns_that_cannot_be_are_told(upload, coach_client, changes, sentence):
    address = upload(WIDE)
    assert sentence in coach_client.post(address, columns(Import.objects.get(), **changes)).content.decode()
    assert Import.objects.get().state == "matching"


def test_two_columns_that_are_read_as_one_benchmark_are_asked_about(upload, coach_client):
    address = upload(f"Athlete;2k row;2k row best;Date\nAthlete 0000;7:10;7:02;{DAY}\n")
    source = Import.objects.get()
    page = coach_client.post(address, columns(source)).content.decode()
    assert "“2k row” and “2k row best” are all read as 2000 m row. Leave one" in page
    assert coach_client.post(address, columns(source, **{"use-1": ""})).status_code == 302
    address = upload("Athlete;2k row 2025-06-02;2k row 2025-11-03\nAthlete 0000;7:10;7:02\n")
    assert coach_client.post(address, columns(Import.objects.latest("pk"))).status_code == 302


def test_columns_headed_by_days_are_asked_for_their_benchmark(upload, coach_client):
    address = upload("Athlete;2025-03-02;2025-06-01\nAthlete 0000;7:10;7:05\n")
    assert "Benchmark of all results" in coach_client.get(address).content.decode()
    source = Import.objects.get()
    assert "Columns are headed by days." in coach_client.post(address, columns(source)).content.decode()
    row = Benchmark.objects.get(slug="2000-m-row")
    assert coach_client.post(address, columns(source, bench=row.pk)).status_code == 302
    source = work(address)
    assert (source.counts["kept"], source.reading["parts"][0]["unused"]) == (2, [])


def test_a_sheet_named_by_a_benchmark_has_the_loads_of_it(upload, coach_client):
    rows = ["Name", "Weight", "Reps", "Date"], ["Athlete 0000", "50 kg", 5, DAY]
    book = workbook(*rows, sheet="Goblet squat")
    address = upload(book, "tests.xlsx")
    source = Import.objects.get()
    sent = columns(source, bench=source.reading["parts"][0]["bench"])
    assert coach_client.post(address, sent).status_code == 302
    assert work(address).remarks.get(kind="kept").result == "50 kg × 5"


def test_cells_with_comments_are_named(upload, coach_client):
    book, file = Workbook(), BytesIO()
    for row in (["Name", "2k row", "Date"], ["Athlete 0000", "7:10", DAY]):
        book.active.append(row)
    book.active["B2"].comment = Comment("not full distance, do not count", "Coach")
    book.save(file)
    address = upload(file.getvalue(), "tests.xlsx")
    coach_client.post(address, columns(Import.objects.get()))
    assert "Cells with comments: B2. Look at them" in coach_client.get(address).content.decode()


def test_what_is_not_used_is_named_before_keeping(upload, coach_client):
    address = upload(f"Athlete;2k row;Shoe size;Date\nAthlete 0000;7:10;43;{DAY}\n")
    coach_client.post(address, columns(Import.objects.get()))
    assert "Not used, though something stands there: “Shoe size”." in coach_client.get(address).content.decode()


LIFTS = "Athlete,Lift,Load,Reps,Date\nAthlete 0000,Goblet squat,{},5,03.11.2025\nAthlete 0001,Goblet squat,45 lb,5,\n"


def test_what_plain_loads_are_in_is_asked_only_where_there_are_some(upload, coach_client):
    address = upload(LIFTS.format("20 kg"))
    assert "Plain loads and body masses are in" not in coach_client.get(address).content.decode()
    sent = columns(Import.objects.get(), order="day", day=DAY)
    assert coach_client.post(address, sent).status_code == 302
    assert work(address).counts["results"] == 2
    address = upload(LIFTS.format("20"))
    page = coach_client.get(address).content.decode()
    assert "Plain loads and body masses are in" in page
    assert "optional" not in page
    assert "Pounds are spoken of in this file." in coach_client.post(address, sent).content.decode()


def test_loads_of_a_column_that_the_coach_chooses_are_asked_for_their_unit(upload, coach_client):
    address = upload(LIFTS.format("20").replace("Load", "Iron").replace("45 lb", "45") + ",,,,in lb?\n")
    page = coach_client.get(address).content.decode()
    assert "Lifts stand here with repetitions and without a load." in page
    assert "Plain loads and body masses are in" not in page
    sent = columns(Import.objects.get(), order="day", day=DAY)
    page = coach_client.post(address, {**sent, "0-use-2": "load"}).content.decode()
    assert "Pounds are spoken of in this file." in page
    assert '<option value="lb">pounds</option>' in page


def test_one_day_for_all(upload, coach_client):
    address = upload("Athlete;2k row\nAthlete 0000;7:10\n")
    coach_client.post(address, columns(Import.objects.get(), day=DAY))
    work(address)
    coach_client.post(f"{address}keep/")
    work(address)
    assert Effort.objects.get(value=430, entered_by__isnull=False).performed_on.isoformat() == DAY


def test_names_of_benchmarks_are_asked_and_explained(upload, coach_client):
    address = upload(LONG)
    coach_client.post(address, columns(Import.objects.get(), order="day"))
    work(address)
    assert "“The Monster”" in coach_client.get(address).content.decode()
    row = Benchmark.objects.get(slug="2000-m-row")
    coach_client.post(f"{address}names/", choose(address, row.pk))
    source = work(address)
    assert source.counts["kept"] == 2
    assert "Which benchmarks are these?" not in coach_client.get(address).content.decode()


def test_cells_beyond_the_headings_are_asked_about_and_empty_columns_are_not(upload, coach_client):
    address = upload(f"Athlete;2k row;Date\nAthlete 0000;7:10;{DAY}\nAthlete 0001;7:12;{DAY};;43\n")
    page = coach_client.get(address).content.decode()
    assert ("Column E" in page, "Column D" in page) == (True, False)
    source = Import.objects.get()
    sent = columns(source)
    del sent["0-use-3"]  # of which the page shows nothing
    assert coach_client.post(address, sent).status_code == 302
    assert "“column E”" in coach_client.get(address).content.decode()


def test_people_who_may_be_here_are_asked_about_and_explained(upload, coach_client, make_athlete):
    seun = make_athlete("Oluwaseun Adelabi", board_name="Seun")
    address = upload(f"Who;2k row;Date\nSeun A.;7:10;{DAY}\n")
    coach_client.post(address, columns(Import.objects.get()))
    page = coach_client.get(address).content.decode()
    assert "Who are these?" in page
    assert "Oluwaseun Adelabi (Seun)</option>" in page
    assert "who is not here yet" not in page
    coach_client.post(f"{address}names/", choose(address, seun.pk))
    assert "Who are these?" not in coach_client.get(address).content.decode()
    coach_client.post(f"{address}keep/")
    assert work(address).counts["kept"] == 1
    assert seun.efforts.count() == 1


def test_keeping_with_a_name_just_explained_checks_again_first_and_loses_nothing(upload, coach_client, make_athlete):
    seun = make_athlete("Oluwaseun Adelabi", board_name="Seun")
    rows = f"Seun A.;7:10;;{DAY}\nNina Nu;7:05;;{DAY}\nAthlete 0001;;200;{DAY}\n"
    address = upload("Who;2k row;Goblet squat (kg);Date\n" + rows)
    coach_client.post(address, columns(Import.objects.get()))
    ticks = {"create_athletes": "on", "want": Import.objects.get().remarks.get(kind="questioned").pk}
    chosen = choose(address, seun.pk)
    page = coach_client.get(address).content.decode()
    assert all(f'name="{name}"' in page.split(f'action="{address}keep/"')[1].split("</form>")[0] for name in chosen)
    page = coach_client.post(f"{address}keep/", chosen | ticks, follow=True).content.decode()
    assert "Nothing is kept yet: the file is checked again with the names you chose." in page
    assert not seun.efforts.exists()
    assert ('id="create" checked' in page, page.count("checked aria-label")) == (True, 1)
    asked_again = Import.objects.get().remarks.get(kind="questioned").pk
    page = coach_client.post(f"{address}keep/", chosen | ticks | {"want": asked_again}, follow=True).content.decode()
    assert "3 results are kept" in page
    assert seun.efforts.count() == 1


def test_of_many_names_those_left_out_step_aside_for_the_others(upload, coach_client):
    rows = "".join(f"Athlete 0000,Monster {chr(97 + n // 26)}{chr(97 + n % 26)},7:10,{DAY}\n" for n in range(50))
    people = "".join(f"Rank {n},2k row,7:10,{DAY}\n" for n in range(45))
    address = upload("Athlete,Test,Result,Date\n" + rows + people)
    coach_client.post(address, columns(Import.objects.get()))
    page = coach_client.get(address).content.decode()
    assert ("40 of 50 are shown." in page, "40 of 45 are shown." in page) == (True, True)
    first, row = asked(address), Benchmark.objects.get(slug="2000-m-row")
    page = coach_client.post(f"{address}names/", choose(address, row.pk), follow=True).content.decode()
    assert "40 of 49 are shown." in page
    then = asked(address)
    assert then.names == [*sorted(f"Monster b{letter}" for letter in "opqrstuvwx"), *first.names[1:31]]
    assert set(then.people) - set(first.people) == set(then.people[:5])
    assert (len(set(then.people[:5])), first.names[0] in then.names) == (5, False)
    coach_client.post(f"{address}keep/", choose(address, ""))
    assert Import.objects.get().state == "done"


def test_a_choice_that_is_gone_keeps_nothing(upload, coach_client):
    address = upload(LONG)
    coach_client.post(address, columns(Import.objects.get(), order="day"))
    page = coach_client.post(f"{address}keep/", choose(address, 999), follow=True).content.decode()
    assert "is not there any more. Choose again." in page
    assert Import.objects.get().state == "checked"


@pytest.mark.parametrize("name", ["Nina / Freya", "Nina & Freya", "Nina+Freya", "Nina and Freya Nu"])
def test_several_people_in_one_cell_are_asked_about(upload, coach_client, name):
    address = upload(f"Who;2k row;Date\n{name};7:10;{DAY}\nAndy Sandford;7:10;{DAY}\n")
    coach_client.post(address, columns(Import.objects.get()))
    assert asked(address).people == [name]
    page = coach_client.get(f"{address}?show=newcomer").content.decode()
    assert page.count("Is this a person?") == 1
    coach_client.post(f"{address}names/", choose(address, "new"))
    assert asked(address).people == []


def test_headings_in_another_row_are_read_again(upload, coach_client):
    address = upload("Autumn;;\nWho;Rowing;When\nPerson;2k row;Date\nAthlete 0000;7:10;2025-11-03\n")
    assert Import.objects.get().reading["parts"][0]["heading_row"] == 3
    coach_client.post(f"{address}reading/", {"part": 0, "heading_row": 2})
    reading = Import.objects.get().reading["parts"][0]
    assert (reading["heading_row"], reading["headings"]) == (2, ["Who", "Rowing", "When"])
    assert (
        "from 1 to 2000"
        in coach_client.post(f"{address}reading/", {"part": 0, "heading_row": 0}, follow=True).content.decode()
    )


def test_everything_found_is_a_file_too(upload, coach_client):
    address = upload(WIDE)
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    answer = coach_client.get(f"{address}remarks.csv")
    lines = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()
    assert lines[0] == (
        "sheet,row,column,athlete or benchmark,what becomes of it,why,benchmark,day,result as it is kept"
    )
    assert lines[1:3] == [
        f",2,2k row,Athlete 0000,new result,,2000 m row,{DAY},7:10.0",
        f",2,Pull-ups,Athlete 0000,new result,,pull-ups unbroken,{DAY},4 repetitions",
    ]
    assert f",3,2k row,Nina Nu,new result,Kept if the athlete is added.,2000 m row,{DAY},7:05.0" in lines
    assert any(line.startswith(',4,2k row,Athlete 0001,left out,"“soon” is not understood.') for line in lines)


def test_new_results_are_listed_as_they_will_be_kept(upload, coach_client):
    address = upload(f"Athlete;Goblet squat (lb);Date\nAthlete 0000;75x5;{DAY}\nNina Nu;45;{DAY}\n")
    coach_client.post(address, columns(Import.objects.get(), load_unit="lb"))
    page = coach_client.get(f"{address}?show=kept").content.decode()
    assert "New results (2)" in page
    for said in ("Goblet squat", "3 Nov 2025", "34.02 kg × 5", "20.41 kg × 1", "Kept if the athlete is added."):
        assert said in page


def test_new_facts_are_listed_before_they_are_kept(upload, coach_client):
    address = upload("Athlete;DOB\nAthlete 0000;1990-02-03\n")
    coach_client.post(address, columns(Import.objects.get()))
    page = coach_client.get(address).content.decode()
    assert page.index("New facts (1)") < page.index("Date of birth.") < page.index("3 Feb 1990")


def test_a_file_that_cannot_be_read_is_told_beside_the_field(furnished, coach_client):
    for content, sentence in ((b"", "The submitted file is empty"), (b"\xd0\xcf\x11\xe0", "old kind (.xls)")):
        sent = {"file": SimpleUploadedFile("x.xls", content), "key": uuid4()}
        assert sentence in coach_client.post("/athletes/import/", sent).content.decode()
    assert (
        "Choose a file, or paste a table below"
        in coach_client.post("/athletes/import/", {"key": uuid4()}).content.decode()
    )


def test_a_file_too_large_is_refused(furnished, coach_client, monkeypatch):
    monkeypatch.setattr("athletes.importing.forms.MOST_BYTES", 10)
    sent = {"file": SimpleUploadedFile("x.csv", b"x" * 11), "key": uuid4()}
    assert "larger than 20 MB" in coach_client.post("/athletes/import/", sent).content.decode()


def test_sending_the_upload_twice_is_one_import(upload):
    key = uuid4()
    assert upload(WIDE, key=key) == upload(WIDE, key=key)
    assert Import.objects.count() == 1


def test_the_same_content_goes_on_with_the_import_that_is_there_until_that_is_done(upload, coach_client):
    address = upload(WIDE)
    assert upload(WIDE, name="again.csv") == address
    assert "This file was brought in before." in coach_client.get(address).content.decode()
    assert upload(WIDE + "\n") != address
    Import.objects.update(state="done")
    assert upload(WIDE) != address


def test_a_file_that_is_no_workbook_is_refused(furnished, coach_client):
    sent = {"file": SimpleUploadedFile("x.xlsx", b"hello"), "key": uuid4()}
    assert "This is no spreadsheet." in coach_client.post("/athletes/import/", sent).content.decode()


def test_files_that_nobody_goes_on_with_can_be_forgotten_from_the_list(upload, coach_client):
    address = upload(WIDE)
    assert f'action="{address}discard/"' in coach_client.get("/athletes/import/").content.decode()
    for state in ("checking", "done"):
        Import.objects.update(state=state)
        assert "discard/" not in coach_client.get("/athletes/import/").content.decode()


def test_a_button_of_an_older_page_says_that_the_file_has_gone_on(upload, coach_client):
    address = upload(WIDE)
    answer = coach_client.post(f"{address}keep/", follow=True)
    assert "has gone on meanwhile" in answer.content.decode()


def test_a_file_is_forgotten_on_request(upload, coach_client):
    address = upload(WIDE)
    for _ in range(2):
        assert "The file is forgotten" in coach_client.post(f"{address}discard/", follow=True).content.decode()
    assert not Import.objects.exists()
    assert coach_client.get(address).status_code == 404


def test_staff_see_no_link_to_what_only_coaches_may(staff_client, coach_client, furnished):
    assert "/athletes/import/" not in staff_client.get("/athletes/").content.decode()
    assert "/athletes/import/" in coach_client.get("/athletes/").content.decode()


def test_queries_of_the_pages_do_not_grow(upload, coach_client, django_assert_max_num_queries):
    rows = "".join(f"Athlete {n:04d};soon;;{DAY}\n" for n in range(150))
    address = upload("Athlete;2k row;Pull-ups;Date\n" + rows)
    coach_client.post(address, columns(Import.objects.get()))
    work(address)
    with django_assert_max_num_queries(12):  # three of them for names that are asked about
        page = coach_client.get(address).content.decode()
    assert "Page 1 of 3" in page
    with django_assert_max_num_queries(5):
        coach_client.get("/athletes/import/")
