"""coachhub as services of systemd, for a machine without Docker: what the compose file runs, under the same limits."""

import sys
from pathlib import Path

from django.conf import settings

# Of systemd.exec(5): the service sees its own data folder, and can write nowhere else.
HARDENED = """NoNewPrivileges=yes
PrivateTmp=yes
PrivateDevices=yes
ProtectSystem=strict
ProtectHome=yes
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectControlGroups=yes
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
RestrictNamespaces=yes
RestrictSUIDSGID=yes
LockPersonality=yes
CapabilityBoundingSet=
UMask=0077
MemoryMax=1G
TasksMax=200"""
UNIT = """[Unit]
Description=coachhub, {what}
After=network-online.target {after}
Wants=network-online.target

[Service]
User={user}
WorkingDirectory={code}
EnvironmentFile={environment}
Environment=DATA_DIR={data} COACHHUB_SYSTEM_PYTHON=1
{before}ExecStart={command}
Restart=always
RestartSec=1
TimeoutStopSec={stop}
ReadWritePaths={data} -{backups}
{hardened}

[Install]
WantedBy=multi-user.target
"""
WEB = "{python} -m gunicorn coachhub.wsgi --config python:coachhub.web --bind 127.0.0.1:{port}"
WORKER = "{python} -m celery -A coachhub.celery worker -B --without-gossip --without-mingle"


def folders(environment: Path) -> tuple[Path, Path]:
    """Where the services keep their data and their back-ups: as the file with their settings says, else as here."""
    said = {}
    if environment.exists():
        for line in environment.read_text().splitlines():
            name, _, value = line.strip().partition("=")
            said[name.strip()] = value.strip().strip("\"'")
    if said.get("DATA_DIR"):
        data = Path(said["DATA_DIR"])
        return data, Path(said.get("BACKUP_DIR") or data / "backups")
    return settings.DATA_DIR, Path(said.get("BACKUP_DIR") or settings.BACKUP_DIR)


def units(*, user: str, port: int, environment: Path) -> dict[str, str]:
    """The text of each unit by its file's name. OSError where the file with the settings cannot be read."""
    data, backups = folders(environment)
    facts = {
        "user": user,
        "code": settings.BASE_DIR,
        "data": data,
        "backups": backups,
        "environment": environment,
        "hardened": HARDENED,
    }
    prepare = f"ExecStartPre={sys.executable} manage.py prepare\n"
    web = WEB.format(python=sys.executable, port=port)
    worker = WORKER.format(python=sys.executable)
    return {
        "coachhub-web.service": UNIT.format(
            what="the pages", after="postgresql.service redis.service", before=prepare, command=web, stop=30, **facts
        ),
        "coachhub-worker.service": UNIT.format(
            what="the work in the background", after="coachhub-web.service", before="", command=worker, stop=60, **facts
        ),
    }
