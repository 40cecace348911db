"""The Textual app: one file a screen; each turns keys into practice and draws a page."""
