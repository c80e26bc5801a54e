"""Where a person's files are: the shop file that commands mean, and the shop file of one's own."""

from __future__ import annotations

import os
import sys
from pathlib import Path

DEFAULT_SHOP = "jobs.rwshop"
OWN_SHOP = "own.rwshop"


def config_folder() -> Path:
    """RACEWRIGHT_HOME; else `racewright` in %APPDATA% (Windows), in XDG_CONFIG_HOME or in ~/.config."""
    own = os.environ.get("RACEWRIGHT_HOME")
    if own:
        return Path(own)
    if sys.platform == "win32" and os.environ.get("APPDATA"):
        return Path(os.environ["APPDATA"]) / "racewright"
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "racewright"


def shop_file(named: str | None) -> Path:
    """The shop file that a person named, else $RACEWRIGHT_SHOP, else jobs.rwshop in this folder."""
    return Path(named or os.environ.get("RACEWRIGHT_SHOP") or DEFAULT_SHOP)


def own_shop() -> Path:
    """A person's own shop file, for the tools of who works without one of a shop; it need not exist."""
    return config_folder() / OWN_SHOP


def tools_file(named: str | None) -> Path:
    """Where tools are kept: in the shop file at hand (named by a person or the environment, or there in this folder),
    else in one's own."""
    at_hand = shop_file(named)
    return at_hand if named or os.environ.get("RACEWRIGHT_SHOP") or at_hand.exists() else own_shop()
