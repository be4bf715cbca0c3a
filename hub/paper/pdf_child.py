"""Runs as a process of its own, by path: HTML on standard input, PDF on standard output. Needs no other file of ours.

WeasyPrint computes for seconds and calls into Pango. Here neither holds the hub's threads up nor can take it down.
"""

import os
import resource
import sys

NO_PANGO = 3
MOST_MEMORY = 3 * 1024**3


def main() -> int:
    os.nice(10)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    # WeasyPrint prints advice of its own where Pango is missing: off standard output, which is the PDF.
    pdf_out, sys.stdout = sys.stdout.buffer, sys.stderr
    try:
        import weasyprint
    except OSError as error:
        sys.stderr.write(f"{error}\n")
        return NO_PANGO
    html = sys.stdin.buffer.read().decode("utf-8")
    # Nothing may be fetched, from the network or from disk: a page brings all it needs.
    fetcher = weasyprint.URLFetcher(allowed_protocols=["data"])
    pdf_out.write(weasyprint.HTML(string=html, url_fetcher=fetcher).write_pdf())
    pdf_out.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
