"""What an archive holds, in a sentence."""

COUNTED = {
    "athletes.athlete": "athletes",
    "athletes.effort": "efforts",
    "training.circuit": "circuits",
    "training.week": "weeks",
    "training.target": "targets",
    "training.log": "logs",
}


def contents(manifest: dict) -> str:
    members = manifest["members"]
    counts = [f"{members[f'rows/{name}.jsonl']['count']:,} {word}" for name, word in COUNTED.items()]
    boards = sum(name.startswith("boards/") for name in members)
    return ", ".join(counts) + f" and {boards:,} published pages"
