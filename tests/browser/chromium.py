"""How Chromium is started, for tests, icons and the tour's pictures alike: its headless shell, without the processes of
a browser's own windows, which cost each page of the tests about a second.
"""

import shutil

ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


def shell() -> str:
    found = shutil.which("chromium-headless-shell")
    if found is None:
        raise RuntimeError(
            "No browser for the tests. Install Debian's package chromium-headless-shell, then try again."
        )
    return found
