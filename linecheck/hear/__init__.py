"""Recordings to tones: decoding, attacks, pitches, tuning, and where a recording is to be doubted.

Everything here knows sound and nothing of charts. scipy and soundfile, the optional extra, are
loaded only where a recording is opened.
"""
