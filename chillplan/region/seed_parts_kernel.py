"""The steps of the seed counts: running totals, the search for the latest day, and counting by sowing date."""

from __future__ import annotations

import numpy as np

from chillplan.region.lanes import LANES, loop, part
from chillplan.seasons.cut import DAYS
from chillplan.seasons.summary import TEMPERATURE_GRAIN

GRAIN = np.float32(TEMPERATURE_GRAIN)
L = LANES
WHOLE_DAY = 65536  # parts of a day lost in the heat
NOT_AT_ALL = -1  # stands for the sowing day where no day would do


@loop
def add_warmth(after, now, code, base, grain):
    """Running total of warmth above a base temperature on moist days."""
    for i in range(L):
        q = np.int32(code[i])
        kept = np.float32(q >> np.int32(1)) / GRAIN
        above = kept - base if kept > base else np.float32(0.0)
        after[i] = now[i] + np.int32(np.rint(above * grain)) * (q & np.int32(1))


@loop
def add_share(after, now, code, zero_low, per_low, zero_high, per_high, grain):
    """Running total of the share of a day that counts, on moist days."""
    for i in range(L):
        q = np.int32(code[i])
        kept = np.float32(q >> np.int32(1)) / GRAIN
        rising, falling = (kept - zero_low) * per_low, (zero_high - kept) * per_high
        share = rising if rising < falling else falling
        share = share if share < np.float32(1.0) else np.float32(1.0)
        share = share if share > np.float32(0.0) else np.float32(0.0)
        after[i] = now[i] + np.int32(np.rint(share * grain)) * (q & np.int32(1))


@loop
def lose_heat(after, ahead, last, code, reversal, day):
    """Take a day off where it is too hot, and remember the last such day."""
    for i in range(L):
        heat = np.float32(np.int32(code[i]) >> np.int32(1)) / GRAIN > reversal
        after[i] -= np.int32(WHOLE_DAY) if heat else np.int32(0)
        ahead[i] = day if heat else last[i]


@part
def fill_totals(code, total, hot, offset, response, thermal, base, grain):
    """Running totals of one season's gain from position `offset` on.

    `response` is (zero low, per low, zero high, per high, reversal, loses); `thermal` counts warmth above `base`.
    `hot[day]` is the last day above the reversal temperature before `day`, -1 where there is none.
    """
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    loses = response[5] > np.float32(0.0)
    for d in range(DAYS):
        today, now, after = code[d], total[offset + d], total[offset + d + 1]
        if thermal:
            add_warmth(after, now, today, base, grain)
        else:
            add_share(after, now, today, zero_low, per_low, zero_high, per_high, grain)
            if loses:
                lose_heat(after, hot[offset + d + 1], hot[offset + d], today, response[4], np.int16(offset + d))


@part
def last_with(total, i, low, high, most):
    """Last position between `low` and `high` whose total is at most `most`; totals rise, and that at `low` is."""
    reach = 2
    while high - reach > low and total[high - reach, i] > most:
        high -= reach
        reach *= 2
    low = max(low, high - reach)
    while low < high:
        middle = (low + high + 1) // 2
        if total[middle, i] <= most:
            low = middle
        else:
            high = middle - 1
    return low


@part
def go_back(total, hot, loses, i, ready, need):
    """Turn the days on which a phase must be over into the latest days on which it may begin, in place.

    `ready[q]` is the first day after the phase, -1 where no day does; a phase that needs nothing takes no day.
    Neither the days nor the needs fall back from one quantile to the next, so the search never turns round.
    """
    at = ready[0]
    for q in range(ready.size):
        end, wanted = ready[q], need[q]
        if end < 0:
            break
        at = min(at, end)
        if wanted <= 0:
            continue
        begin = np.int64(hot[end, i]) + 1 if loses else 0
        top = total[end, i]
        if top - total[begin, i] >= wanted:
            at = last_with(total, i, begin, at, top - wanted)
        else:
            most, at = top, NOT_AT_ALL
            if begin > 0:
                for j in range(end - 1, -1, -1):
                    if most - total[j, i] >= wanted:
                        at = j
                        break
                    most = max(most, total[j, i])
        ready[q] = at
        if at < 0:
            for rest in range(q, ready.size):
                ready[rest] = NOT_AT_ALL
            break


@part
def latest_sprouting(totals, hots, thermal_need, end, i, ready):
    """Latest day of each quantile on which the warmth to emerge must begin to be up by the day before `end`."""
    ready[:] = end
    go_back(totals[-1], hots[0], False, i, ready, thermal_need)


@part
def before_phases(totals, hots, response, order, needs, i, ready):
    """Latest sowing day of each quantile from the latest day on which its phases must be over, in place."""
    for n in range(order.size - 1, -1, -1):
        k = order[n]
        go_back(totals[k], hots[k], response[k, 5] > np.float32(0.0), i, ready, needs[n])


@part
def later_phases(totals, hots, response, order, needs, i, ready):
    """As `before_phases`, but for the first phase: latest day of each quantile on which that must be over."""
    for n in range(order.size - 1, 0, -1):
        k = order[n]
        go_back(totals[k], hots[k], response[k, 5] > np.float32(0.0), i, ready, needs[n])


@part
def latest_starts(totals, hots, response, order, needs, thermal_need, end, i, ready):
    """Latest sowing day of each quantile that is up by the day before `end`."""
    latest_sprouting(totals, hots, thermal_need, end, i, ready)
    before_phases(totals, hots, response, order, needs, i, ready)


@part
def count_from(ready, start):
    """Quantiles that may be sown as late as `start`."""
    count = 0
    for q in range(ready.size):
        count += 1 if ready[q] >= start else 0
    return count


@part
def add_season(by_deadline, by_frost, first, every, is_good, good, total, drop):
    """Add one season's seeds up in time to the counts of each date."""
    dates = good.size
    drop[:] = 0
    for q in range(by_deadline.size):
        if by_deadline[q] >= first:
            drop[min((by_deadline[q] - first) // every, dates - 1)] += 1
        if by_frost[q] >= first:
            drop[min((by_frost[q] - first) // every, dates - 1)] -= 1
    up = 0
    for p in range(dates - 1, -1, -1):
        up += drop[p]
        seen = max(up, 0)
        good[p] += is_good[seen]
        total[p] += seen


@part
def done_after(total, hot_loss, start, end, wanted, i):
    """First day after a phase begun on `start` is over, `end` where it is not over before."""
    progress = 0
    for d in range(start, end):
        if progress >= wanted:
            return d
        progress = (
            max(progress + total[d + 1, i] - total[d, i], 0) if hot_loss else progress + total[d + 1, i] - total[d, i]
        )
    return end


@loop
def next_peak(peak, peak_at, rise, before, before_at, before_rise, trough, total, day):
    """Highest total so far, its last position, and the most that was gained again since."""
    for i in range(L):
        higher = total[i] >= before[i]
        peak[i] = total[i] if higher else before[i]
        peak_at[i] = day if higher else before_at[i]
        low = total[i] if higher | (total[i] < trough[i]) else trough[i]
        trough[i] = low
        gained = total[i] - low
        gained = gained if gained > before_rise[i] else before_rise[i]
        rise[i] = np.int32(0) if higher else gained


@loop
def next_trough(trough, after, total, day, highest):
    """Lowest total from a day to the highest of the season, going backwards."""
    for i in range(L):
        lower = (total[i] < after[i]) | (day >= highest[i])
        trough[i] = total[i] if lower else after[i]


@part
def fill_peaks(total, peak, peak_at, rise, trough, lowest):
    """Peaks and troughs of a running total; all but the last have the shape (day + 1, lane)."""
    days = total.shape[0]
    peak[0], peak_at[0], rise[0], lowest[:] = total[0], 0, 0, total[0]
    for d in range(1, days):
        next_peak(peak[d], peak_at[d], rise[d], peak[d - 1], peak_at[d - 1], rise[d - 1], lowest, total[d], np.int32(d))
    trough[days - 1] = total[days - 1]
    for d in range(days - 2, -1, -1):
        next_trough(trough[d], trough[d + 1], total[d], np.int32(d), peak_at[days - 1])


@part
def set_limits(ready, need, total, peak, peak_at, rise, trough, i, most, last):
    """How low the total must still come, and from which day at the latest, for a first phase to be over in time.

    A phase is over by `ready` if from some day since its beginning the total gains enough until then. Up to the peak
    before `ready` that means: it still comes as low as the peak less the need. After that peak nothing is gained that
    would do, but where `rise` says otherwise; and where the total comes that low again between that peak and the
    highest of the season, its trough says nothing: in both cases the days are looked at one by one.
    """
    for q in range(ready.size):
        end, wanted = ready[q], need[q]
        most[q, i], last[q, i] = np.int32(1 << 30), end
        if end >= 0 and wanted > 0:
            limit = peak[end, i] - wanted
            if rise[end, i] < wanted and trough[peak_at[end, i], i] > limit:
                most[q, i], last[q, i] = limit, peak_at[end, i]
            else:
                last[q, i] = look_at_all(total, i, end, wanted)


@part
def look_at_all(total, i, end, wanted):
    """Latest day from which a phase, losses counted, is over before `end`."""
    most = total[end, i]
    for j in range(end - 1, -1, -1):
        if most - total[j, i] >= wanted:
            return j
        most = max(most, total[j, i])
    return NOT_AT_ALL


@loop
def count_quantiles(up, total, most, last, day, sign):
    """Add, or take away, the quantiles that may be sown on a day."""
    for q in range(most.shape[0]):
        limit, until = most[q], last[q]
        for i in range(L):
            may = (total[i] <= limit[i]) & (day <= until[i])
            up[i] += sign if may else np.int32(0)


@loop
def add_counts(up, fewest, good, total):
    """Count a date's good winters and seeds up in time."""
    for i in range(L):
        seen = up[i] if up[i] > np.int32(0) else np.int32(0)
        good[i] += np.int32(1) if seen >= fewest else np.int32(0)
        total[i] += seen
