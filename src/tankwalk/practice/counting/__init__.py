"""The counting pad: sub-samples as counted, what they come to, and how the count is kept."""
