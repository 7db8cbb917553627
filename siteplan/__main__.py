"""`python -m siteplan` and the `siteplan` command start here."""

import sys


def main() -> None:
    """Run the command line; an older Python gets one plain sentence."""
    if sys.version_info < (3, 11):  # noqa: UP036  (pip refuses too, but a copied folder does not)
        sys.exit("siteplan needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031
    from siteplan.cli.table import main as run

    run()


if __name__ == "__main__":
    main()
