"""Zones within zones: both have to be on the same part."""

from __future__ import annotations

from collections.abc import Iterator

from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage


def zones_across_parts(stage: Stage, against: Against) -> Iterator[tuple[int, str, str, str, str, str]]:
    """Zones within a zone of another part, where the package mentions either: row (the inner zone's if it has one),
    object, inner zone, its part, outer zone, its part. Cells that the package leaves blank are as stored."""
    if not stage.holds("zones", "object", "zone"):
        return
    given = {name: f"s.{name}" if stage.holds("zones", name) else "NULL" for name in ("component", "within")}
    zones = (
        f"SELECT s.object, s.zone, {given['component']} AS component, {given['within']} AS within, s.row "
        "FROM stage.zones AS s WHERE s.object IS NOT NULL AND s.zone IS NOT NULL"
    )
    if against is Against.DATABASE:
        zones = (
            f"SELECT s.object, s.zone, coalesce(s.component, m.component) AS component, "
            f"coalesce(s.within, m.within) AS within, s.row FROM ({zones}) AS s "
            "LEFT JOIN main.zones AS m ON m.object = s.object AND m.zone = s.zone "
            "UNION ALL SELECT m.object, m.zone, m.component, m.within, NULL FROM main.live_zones AS m "
            "WHERE m.object IN (SELECT object FROM stage.zones) AND NOT EXISTS (SELECT 1 FROM stage.zones AS s "
            "WHERE s.object = m.object AND s.zone = m.zone)"
        )
    for row in stage.select(
        f"WITH z AS MATERIALIZED ({zones}) SELECT coalesce(i.row, o.row) AS said, i.object, i.zone, i.component, "
        "o.zone, o.component FROM z AS i JOIN z AS o ON o.object = i.object AND o.zone = i.within "
        "WHERE i.component <> o.component AND said IS NOT NULL ORDER BY said, i.zone"
    ):
        yield row[0], row[1], row[2], row[3], row[4], row[5]
