"""What finished books teach: how far pressing closes the leaves (k), how much of the thread's thickness stays (φ)."""

from __future__ import annotations

import json
import math
import sqlite3

from matref.book.practice import Practice
from matref.estimator.assumptions import Rules
from matref.estimator.distribution import Distribution
from matref.finished.partial_pooling import Told, learn
from matref.finished.threads import Threads
from matref.materials import Thread

_PRESSED = "withdrawn_at IS NULL AND pressing <> 'unpressed' AND fore_edge_mm IS NOT NULL"


def pressing_posterior(connection: sqlite3.Connection) -> Distribution:
    """Return the pressing factor k of a book to come, from the rule and from the finished books that count.

    A book tells k = T / (leaves · caliper); books of one paper share the doubt about its caliper. Without books the
    rule's distribution itself comes back.
    """
    return learn(Practice.of(Rules(connection).__getitem__).pressing_of(), _pressings(connection), ())


def flattening_posterior(connection: sqlite3.Connection, surface: str, thread_fibre: str) -> Distribution:
    """Return the flattening φ of a book to come, of paper with this surface sewn with thread of this fibre.

    `surface`: soft, hard or mixed; `thread_fibre`: id of the fibre, '' if not known. A book tells φ = S / (threads·d),
    S being spine less fore-edge, both measured; books sewn with one thread share the doubt about its diameter. Books of
    another surface or fibre tell less than those of the same. Without books the rule's distribution itself comes back.
    """
    prior = Practice.of(Rules(connection).__getitem__).flattening_of()
    return learn(prior, _flattenings(connection), (surface, thread_fibre))


def taught(connection: sqlite3.Connection) -> tuple[int, int]:
    """Return how many finished books tell of pressing, and how many of flattening."""
    row = connection.execute(f"SELECT count(*), count(spine_mm) FROM finished_book WHERE {_PRESSED}").fetchone()
    return int(row[0]), int(row[1])


def fibre_of(connection: sqlite3.Connection, thread: Thread) -> str:
    """Return the id of a thread's fibre, '' where it is not known (a measured diameter says nothing of it)."""
    kind, _, entry = thread.entry.partition(":")
    if kind == "thread":
        row = connection.execute("SELECT coalesce(fibre_id, '') FROM thread WHERE id = ?", (entry,)).fetchone()
        return str(row[0]) if row else ""
    if kind == "count_system":  # named as "…, fibre" by the conversion
        for fibre_id, name in connection.execute("SELECT id, name FROM fibre ORDER BY length(name) DESC"):
            if thread.name.endswith(f", {name}"):
                return str(fibre_id)
    return ""


def _pressings(connection: sqlite3.Connection) -> list[Told]:
    rows = connection.execute(
        f"""SELECT 2.0 * sheets_per_section * sections + endpaper_leaves, caliper_um, caliper_u_um,
                   fore_edge_mm, fore_edge_u_mm, paper_key
            FROM finished_book WHERE {_PRESSED} ORDER BY added_at, rowid"""
    )
    found = []
    for leaves, caliper, u_caliper, edge, u_edge, paper in rows:
        unpressed_mm = leaves * caliper / 1000
        found.append(Told((), paper, edge / unpressed_mm, u_edge / unpressed_mm, u_caliper / caliper))
    return found


def _flattenings(connection: sqlite3.Connection) -> list[Told]:
    rows = connection.execute(
        f"""SELECT sections, sewing, thread_mm, thread_u_mm, thread_name, thread_fibre, surface,
                   fore_edge_mm, fore_edge_u_mm, spine_mm, spine_u_mm, plan
            FROM finished_book WHERE {_PRESSED} AND spine_mm IS NOT NULL ORDER BY added_at, rowid"""
    )
    found = []
    for sections, sewing, thread, u_thread, name, fibre, surface, edge, u_edge, spine, u_spine, plan in rows:
        round_mm = Threads.of(sections, sewing, json.loads(plan) if plan else None).count * thread
        u = math.hypot(u_edge, u_spine) / round_mm
        found.append(Told((surface, fibre), name, (spine - edge) / round_mm, u, u_thread / thread))
    return found
