"""Fills an empty database with the demo gym, all of it or nothing."""

from datetime import date, time, timedelta
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils.text import slugify

from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.write import estimates_refresh
from athletes.links.write import links_issue_missing, screen_link_issue
from athletes.models import Account, Athlete, Benchmark, Gym, Limitation, Machine, MachineType, Movement, Rack
from coachhub.demo import weeks
from coachhub.demo.benchmarks import BENCHMARKS
from coachhub.demo.efforts import efforts_create
from coachhub.demo.gym import ACCOUNTS, GYM, KINDS, PASSWORD
from coachhub.demo.keys import demo_key
from coachhub.demo.logs import logs_create
from coachhub.demo.movements import MOVEMENTS
from coachhub.demo.people import PEOPLE, Limit, Person
from coachhub.demo.programme import CIRCUITS
from coachhub.demo.room import air_create, levers_create, racks_create
from coachhub.demo.test_days import test_days_create
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.write import circuit_create
from sessions.classes.write import template_save
from sessions.logs.learning import learn, take_in
from sessions.models import Circuit, Log, PlannedSession, Week
from sessions.publishing import run as publishing
from sessions.publishing.write import publication_request
from sessions.weeks.read import monday_of
from sessions.weeks.write import class_plan, week_ensure


def database_is_empty() -> bool:
    return not any(model.objects.exists() for model in (Athlete, Account, Gym))


@transaction.atomic
def seed(as_of: date) -> None:
    """The demo gym as it stands on a day. The same day gives the same people, efforts and circuits."""
    Gym.objects.create(pk=1, **GYM)
    accounts = _accounts()
    movements = _movements(_machines(), racks_create())
    benchmarks = _benchmarks(movements)
    athletes = _athletes(as_of)
    team = [account for account in accounts.values() if account.role != Account.Role.OWNER]
    levers_create(team[-1], as_of)
    air_create(team[-1], as_of)
    efforts_create(athletes, benchmarks, team, as_of)
    _limitations(athletes, movements, as_of, team[-1], late=False)
    links_issue_missing(by=accounts["owner"])
    screen_link_issue(by=accounts["owner"])
    circuits = _circuits(accounts["coach"])
    monday = monday_of(as_of)

    gym_priors_refresh(as_of=monday - timedelta(weeks=weeks.BEFORE))
    for ago in range(weeks.BEFORE, 0, -1):
        _lived(monday - timedelta(weeks=ago), ago, circuits, athletes, accounts["coach"], team[-1])
    gym_priors_refresh(as_of=as_of)
    estimates_refresh(as_of=as_of)
    for name, day in weeks.TEMPLATES.items():
        template_save(name=name, parts=_parts(day, circuits, name), by=accounts["coach"])
    this = _week(monday, weeks.THIS_WEEK, weeks.THIS_NOTE, circuits)
    _publish(this, accounts["coach"])
    _limitations(athletes, movements, as_of, team[-1], late=True)
    this.note = weeks.SECOND_NOTE
    this.save()
    _publish(this, accounts["coach"])
    logs_create(athletes, team[-1], monday, as_of)
    learn()
    _week(monday + timedelta(days=7), weeks.NEXT_WEEK, "", circuits)
    test_days_create(accounts["coach"], as_of)


def _accounts() -> dict[str, Account]:
    password = make_password(PASSWORD)  # once: it is slow on purpose
    rows = [Account(username=username, name=name, role=role, password=password) for username, name, role in ACCOUNTS]
    Account.objects.bulk_create(rows)
    return {account.username: account for account in rows}


def _machines() -> dict[str, MachineType]:
    types = {}
    for kind in KINDS:
        scale = dict(zip(("kcal_base", "kcal_slope"), kind.scale or (), strict=False))
        row = MachineType(
            name=kind.name, engine=kind.engine, setting_advice=kind.advice, lever_most=kind.lever_most, **scale
        )
        row.full_clean()
        row.save()
        Machine.objects.bulk_create(Machine(type=row, number=number + 1) for number in range(kind.count))
        types[kind.name] = row
    return types


def _movements(machines: dict[str, MachineType], racks: dict[str, Rack]) -> dict[str, Movement]:
    rows = {}
    for entry in MOVEMENTS:
        row = Movement(
            name=entry.name,
            slug=slugify(entry.name),
            kind=entry.kind,
            engine=entry.engine,
            machine_type=machines[entry.machine] if entry.machine else None,
            rack=racks[entry.rack] if entry.rack else None,
            involvement=entry.involvement,
            setup_s=entry.setup_s,
            seconds_per_repetition=entry.seconds,
            typical_best=entry.best,
            typical_spread=entry.spread,
            paced=entry.paced,
            needs_skill=entry.needs_skill,
            high_eccentric=entry.high_eccentric,
            cue_set_up=entry.set_up,
            cue_drive=entry.drive,
            cue_recovery=entry.recovery,
            look_for=entry.look_for,
            caution=entry.caution,
        )
        row.full_clean()
        row.save()
        rows[entry.name] = row
    for entry in MOVEMENTS:
        if entry.easier:
            row = rows[entry.name]
            row.easier_form = rows[entry.easier]
            row.full_clean()
            row.save()
    return rows


def _benchmarks(movements: dict[str, Movement]) -> dict[str, Benchmark]:
    rows = {}
    for recipe in BENCHMARKS:
        row = Benchmark(
            name=recipe.name,
            slug=slugify(recipe.name),
            movement=movements[recipe.movement],
            measure=recipe.measure,
            fixed=recipe.fixed,
            instructions=recipe.instructions,
        )
        row.full_clean()
        row.save()
        rows[recipe.name] = row
    return rows


def _athletes(as_of: date) -> dict[str, Athlete]:
    rows = [_athlete(person, as_of) for person in PEOPLE]
    Athlete.objects.bulk_create(rows)
    return {row.name: row for row in rows}


def _athlete(person: Person, as_of: date) -> Athlete:
    return Athlete(
        key=demo_key("athlete", person.name),
        name=person.name,
        board_name=person.board,
        born=_birthday(person, as_of),
        sex=person.sex,
        body_mass_kg=person.mass,
        load_unit=person.unit,
        joined_on=as_of - timedelta(weeks=person.weeks, days=as_of.weekday()) if person.new else None,
        returned_on=None if person.back is None else as_of - timedelta(days=person.back),
        note=person.note,
    )


def _birthday(person: Person, as_of: date) -> date:
    """Some day of the year, such that the person has exactly their age on the day of seeding."""
    last = as_of - timedelta(days=1 + demo_key("birthday", person.name).int % 360)
    return date(last.year - person.age, last.month, min(last.day, 28))


def _limitations(athletes: dict, movements: dict, as_of: date, by: Account, *, late: bool) -> None:
    for person in PEOPLE:
        for limit in person.limits:
            if limit.late == late:
                row = _limitation(limit, athletes[person.name], as_of, by)
                row.save()
                row.movements.set(movements[name] for name in limit.movements)


def _limitation(limit: Limit, athlete: Athlete, as_of: date, by: Account) -> Limitation:
    return Limitation(
        athlete=athlete,
        kind=limit.kind,
        patterns=list(limit.patterns),
        note=limit.note,
        starts_on=as_of - timedelta(days=limit.since),
        review_on=None if limit.until is None else as_of - timedelta(days=limit.until),
        entered_by=by,
    )


def _circuits(by: Account) -> dict[str, Circuit]:
    rows, context = {}, {}
    for document in CIRCUITS:
        checked = CircuitSerializer(data=document, context=context)
        checked.is_valid(raise_exception=True)
        key = demo_key("circuit", document["name"])
        rows[document["name"]] = circuit_create(document=checked.validated_data, by=by, key=key)
    return rows


def _week(monday: date, days: list[weeks.Day], note: str, circuits: dict[str, Circuit]) -> Week:
    week = week_ensure(monday)
    week.note = note
    week.save()
    for day in days:
        planned = PlannedSession(
            key=demo_key("session", monday, day.weekday),
            week=week,
            weekday=day.weekday,
            circuit=circuits[day.circuit],
            intent=day.intent,
            note=day.note,
        )
        hours = [time.fromisoformat(hour) for hour in day.hours]
        class_plan(planned=planned, hours=hours, parts=_parts(day, circuits, planned.key))
    return week


def _parts(day: weeks.Day, circuits: dict[str, Circuit], key: UUID | str) -> list[dict]:
    """The parts of a day's class, with keys of their own."""
    return [
        {**part, "key": demo_key("part", key, place), "circuit": circuits.get(part.get("circuit"))}
        for place, part in enumerate(day.parts)
    ]


def _lived(monday: date, ago: int, circuits: dict[str, Circuit], athletes: dict, coach: Account, by: Account) -> None:
    """A week that is over: published from what was known on its Monday, then trained and logged."""
    note = weeks.LAST_NOTE if ago == 1 else ""
    week = _week(monday, weeks.PAST_WEEKS[(ago - 1) % len(weeks.PAST_WEEKS)], note, circuits)
    estimates_refresh(as_of=monday)
    _publish(week, coach)
    logs_create(athletes, by, monday, monday + timedelta(days=7))
    take_in(Log.objects.filter(date__gte=monday))


def _publish(week: Week, by: Account) -> None:
    """Publish as the worker would, here and now, as if on the week's Monday, so that no day of it is over yet.

    The message for the worker, sent on commit, then finds nothing to do.
    """
    publication = publication_request(week=week, by=by, day=week.starts_on)
    publishing.run(publication.pk)
