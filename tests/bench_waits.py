"""Measure how long the window does not answer; prints figures, judges nothing.

The program's own processes run this file once more as they start: as with the installed command,
there is nothing in it for them to load.
"""

if __name__ == "__main__":
    from waits import main

    main()
