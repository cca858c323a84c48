"""An invented department whose truth is known, to show and to test what the kit can find out."""
