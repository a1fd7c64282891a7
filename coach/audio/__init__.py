"""Any recording in, mono samples out; recordings written safely; levels and silences."""
