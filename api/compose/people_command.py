"""The words of ``redpoll people``; what it does is loaded only when it is run."""

from __future__ import annotations

import argparse
from pathlib import Path

from fleet.model.person import HeldRole

ROLES = tuple(role.value for role in HeldRole)


def add_people(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The words of the command."""
    people = commands.add_parser("people", help="who may log in: add, list, disable, enable, roles, password, token")
    doing = people.add_subparsers(dest="doing", required=True, metavar="add | list | disable | enable | roles | …")
    for name, words in _HELP.items():
        one = doing.add_parser(name, help=words)
        one.add_argument("config", type=Path, metavar="CONFIG", help="the console's configuration")
        if name != "list":
            one.add_argument("name", metavar="NAME", help="the person's name")
        if name in ("add", "roles", "token"):
            one.add_argument("--role", action="append", choices=ROLES, required=True, help="may be given several times")
        if name in ("add", "password"):
            one.add_argument("--password-stdin", action="store_true", help="read the password's one line from a pipe")
        if name == "token":
            one.add_argument("--label", required=True, help="what the token is for")
            one.add_argument("--days", type=int, metavar="N", help="how many days it lasts")


_HELP = {
    "add": "let somebody new log in",
    "list": "everybody, with their roles",
    "disable": "let somebody in no more; their sessions and tokens end",
    "enable": "let somebody in again",
    "roles": "give somebody other roles; each includes those before it, instructor is held besides",
    "password": "give somebody another password; their sessions end",
    "token": "make a token for a script in somebody's name; its secret is printed once",
}
