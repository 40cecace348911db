"""What a person reads, as lines of words with tones: the same for the screen and for print."""
