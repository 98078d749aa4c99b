"""What the page "promised and held" shows: a diagram with its table, and what it means for the targets to come."""

from datetime import date

from athletes.estimates.library import learnt
from athletes.words import percent
from sessions.logs.calibration import FEWEST_TARGETS, Band, bands
from sessions.logs.promises import USUAL, WINDOW, Promise, promises
from sessions.progress.charts_held import reliability
from sessions.progress.panels import Panel

WEEKS = WINDOW.days // 7
CLOSE = 0.05  # between promised and held: as good as the same
FEW = 10  # targets of a band from which on a share says something
KINDS = {
    "engine_model_sd": "Machines, running and what is paced by breath",
    "repetitions_model_sd": "Repetitions, lifts and holds",
}
EMPTY = "Nothing to compare yet: it needs logs of published sessions. They come from phones and the floor sheet."


def held_panels(today: date) -> list[Panel]:
    """All logged targets together, then by what limits them; three queries."""
    found = promises(today)
    panels = [_panel("all", "All targets", found)]
    panels += [_panel(model, title, [p for p in found if p.model == model]) for model, title in KINDS.items()]
    panels[0].notes.append(margins_words())
    return panels


def _panel(key: str, title: str, found: list[Promise]) -> Panel:
    all_bands = bands([p.chance for p in found], [p.held for p in found])
    shown = [band for band in all_bands if band.count]
    rows = [[band_words(band), str(band.count), str(band.held), *_shares(band)] for band in all_bands]
    figure = shown and reliability(
        promised=[round(100 * band.promised, 1) for band in shown],
        held=[round(100 * band.share, 1) for band in shown],
        counts=[band.count for band in shown],
        words=[f"{band_words(band)}: {band.held} of {band.count} held" for band in shown],
    )
    return Panel(
        key=f"held-{key}",
        title=title,
        label=f"How many targets were held, against the chance that was promised: {title.lower()}.",
        head=["Chance promised", "Targets", "Held", "Promised on average", "Held on average"],
        rows=rows if shown else [],
        empty=EMPTY,
        file=f"promised-and-held-{key}",
        figure=figure or None,
        notes=[verdict(found)] if found else [],
        open=True,
    )


def band_words(band: Band) -> str:
    return f"{percent(band.low)} to {percent(band.high)}" if band.low else f"up to {percent(band.high)}"


def _shares(band: Band) -> list[str]:
    if not band.count:
        return ["", ""]
    return [percent(band.promised), percent(band.share) if band.count >= FEW else "too few"]


def verdict(found: list[Promise]) -> str:
    """Promised and held in one sentence."""
    promised = sum(p.chance for p in found) / len(found)
    held = sum(p.held for p in found) / len(found)
    said = f"{percent(held)} of {len(found)} logged targets were held to the last round, promised {percent(promised)}."
    if len(found) < FEWEST_TARGETS:
        return f"{said} From {FEWEST_TARGETS} on that says something."
    if abs(held - promised) <= CLOSE:
        return f"{said} Good."
    return f"{said} Targets were {'too bold' if held < promised else 'more careful than they need be'}."


def margins_words() -> str:
    """What the nightly job has made of it."""
    model = learnt().model
    moved = {name: model[name] / usual for name, usual in USUAL.items() if name in model}
    if not moved:
        return f"After {FEWEST_TARGETS} logged targets that were no sure thing, new ones follow what is held here."
    words = [f"{KINDS[name].lower()}: {_moved(factor)}" for name, factor in moved.items()]
    return f"New targets follow what is held here. {'; '.join(words).capitalize()}."


def _moved(factor: float) -> str:
    if abs(factor - 1) < CLOSE:
        return "as usual"
    return f"{percent(abs(factor - 1))} {'more' if factor > 1 else 'less'} kept in hand than usual"
