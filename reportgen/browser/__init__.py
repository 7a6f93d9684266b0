"""``reportgen open``: one contract folder as pages in a browser on this computer, thin over the pipeline.

The pages show, ask and write; they compute nothing. The day file stays the truth, so that command line and editor work
beside them. A process of its own serves them; two workers, started before it, do all the work (``workers``).

What is guarded against; ``tests/unit/browser`` and ``tests/e2e/test_open_attacked.py`` have a test for each line, and
``tests/e2e/test_open_office.py`` one that sends to every address of a form there is:

========  ==============================================================================================================
T1        another machine: the socket is bound to 127.0.0.1, and no option names another address
T2        a foreign name that resolves to 127.0.0.1 (rebinding): ``Host`` is exactly ``127.0.0.1:PORT``
T3        a page of another site or port that posts: ``Origin`` is our own and ``Sec-Fetch-Site`` ``same-origin``
T4        such a page that reads, embeds or frames us: ``Sec-Fetch-Site``, no CORS, no frames, resource policy
T5        another program of this computer that guesses the address: one-time key of 256 bits, then a cookie
T6        the opening address read later, in a history or a list of processes: dead after one use or 60 s
T7        a cookie that another server on 127.0.0.1 is sent, for ports share cookies: it is set for a path of 256 bits
          under which all pages are, so that no other server is sent it; and each page's own key in a header
T8        script in any text of a file, an answer or a name: templates escape, and the policy runs none but ours
T9        the passphrase seen: it is in a request's body and a pipe to the worker alone; no access log, no value in a
          trace; pages are not stored
T10       a path that leads out of the folder: addresses name days, reports and submittals, never files; a policy names
          files that were chosen beside it
T11       a request that fills memory or disk, or never ends: limits a request, a file and a count, before it is read;
          a connection whose request does not come is given up, and the oldest such makes room
T12       a stranger's file that takes over its reader: opened in a confined child of a worker, never in the server
T13       a request that changes something by being followed: GET changes nothing but the one-time key
T14       an error that tells an attacker about the program: answers name no path, no trace, no release
========  ==============================================================================================================
"""

from reportgen.browser.serving import open_folder, write_starter

__all__ = ["open_folder", "write_starter"]
