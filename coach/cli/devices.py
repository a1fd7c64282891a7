"""`coach devices`: the microphones of this machine, and a two-second try of one of them."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from coach.live.meter import LEAST_DBFS, bar

if TYPE_CHECKING:
    from coach.live.check import InputCheck

__all__ = ["add_parser", "meter"]

_METER_WIDTH = 30


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("devices", help="show the microphones, or try one", description=__doc__)
    parser.add_argument("--try", action="store_true", dest="is_try", help="listen for two seconds and tell how it sounds")
    parser.add_argument("--device", metavar="N|NAME", help="which microphone to try; without it the default one")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List, or try."""
    if args.is_try or args.device is not None:
        return _try(args.device)
    return _list()


def meter(level_dbfs: float) -> str:
    """A level as a bar of fixed width, -60 to 0 dBFS."""
    return f"[{''.join(bar(level_dbfs, _METER_WIDTH))}] {max(LEAST_DBFS, level_dbfs):4.0f} dB"


def _list() -> int:
    from coach.live.devices import input_devices, permission_hint, quiet_libraries

    with quiet_libraries():
        devices = input_devices()
    if not devices:
        print(f"No microphone found. Plug one in and look again. {permission_hint()}.")
        return 0
    width = max(len(d.name) for d in devices)
    for device in devices:
        mark = "*" if device.is_default else " "
        print(f"{mark} {device.index:3}  {device.name:{width}}  {device.system}, {device.rate_hz} Hz")
    print("* is used unless you say --device with a number or part of a name. Try it: coach devices --try")
    return 0


def _try(name: str | None) -> int:
    from coach.live.check import check_input
    from coach.live.devices import find_device, quiet_libraries

    with quiet_libraries():
        device = find_device(name)
        print(f"Speak for two seconds: {device.name} is listening ...", file=sys.stderr)
        check = check_input(str(device.index), on_level=_show_level if sys.stderr.isatty() else None)
    if sys.stderr.isatty():
        print(f"\r{'':{_METER_WIDTH + 12}}\r", end="", file=sys.stderr, flush=True)
    print(_render(check))
    return 0


def _show_level(level_dbfs: float) -> None:
    print(f"\r{meter(level_dbfs)} ", end="", file=sys.stderr, flush=True)


def _render(check: InputCheck) -> str:
    figures = f"voice {check.level_dbfs:.0f} dB, background {check.noise_dbfs:.0f} dB, cut off {check.clipped_share:.1%}"
    advice = check.advice[0].upper() + check.advice[1:]
    return f"{check.device}: {'nothing at all' if check.is_silent else figures}\n{advice}."
