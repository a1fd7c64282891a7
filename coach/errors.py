"""The one kind of error a user can mend: its text says where, what is wrong and what to do."""

__all__ = ["CoachError"]


class CoachError(Exception):
    """The input, a file or the machine is at fault; the message is one line for the person at the keyboard."""
