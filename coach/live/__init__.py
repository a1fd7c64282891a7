"""Rehearsing at the microphone: devices, capture to disk as the sound comes, the member's takes."""
