"""The clock of a place, looked up by its coordinates without a network."""

from __future__ import annotations

from dataclasses import replace

from chillplan.site import Site

__all__ = ["with_time_zone"]


def with_time_zone(site: Site) -> Site:
    """The site with the time zone of its coordinates, where it states none.

    Parameters
    ----------
    site : Site

    Returns
    -------
    Site
        As it was where it states its zone, or none is known there.

    References
    ----------
    Time zone boundaries of OpenStreetMap, simplified, as the library tzfpy carries them: near a border, or where the
    clock is not that of the map, state ``time_zone`` in the site file.
    """
    if site.time_zone is not None:
        return site
    from tzfpy import get_tz

    return replace(site, time_zone=get_tz(site.longitude, site.latitude) or None)
