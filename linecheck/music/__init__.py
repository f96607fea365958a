"""What is true before anyone plays: pitches, chords, and the form of a chart."""
