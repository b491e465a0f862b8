"""Cut-offs are kept, and a day without delivery is passed over."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from outpace.planning.delivery_calendar import slots
from outpace.terms.enemies import DAYS_OF_WEEK, Pack


def pack(**more):
    told = {"cutoff_weekday": "Thu", "cutoff_time": "12:00", "delivery_weekday": "Wed", "lead_d": 5, **more}
    return Pack(
        supplier="S",
        enemy="aphidius_ervi",
        form="adults",
        pack_size=250,
        price=20.0,
        label_counts="units_in_pack",
        **told,
    )


def test_an_order_one_minute_late_comes_a_week_later():
    # Thursday 26 November 2026 is the cut-off; the Wednesday at least five days on is 2 December
    on_time = slots(pack(), datetime(2026, 11, 26, 12, 0), date(2026, 12, 20))
    late = slots(pack(), datetime(2026, 11, 26, 12, 1), date(2026, 12, 20))
    assert on_time[0].delivery == date(2026, 12, 2)
    assert late[0].delivery == date(2026, 12, 9)


def test_a_day_without_delivery_is_passed_over():
    found = slots(pack(no_delivery="2026-12-02"), datetime(2026, 11, 25), date(2026, 12, 20))
    assert [slot.delivery for slot in found] == [date(2026, 12, 9), date(2026, 12, 16)]


@given(
    now=st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1)),
    cutoff=st.sampled_from(DAYS_OF_WEEK),
    delivery=st.lists(st.sampled_from(DAYS_OF_WEEK), min_size=1, max_size=3, unique=True),
    lead=st.integers(1, 12),
)
def test_every_slot_keeps_cutoff_lead_and_weekday(now, cutoff, delivery, lead):
    item = pack(cutoff_weekday=cutoff, delivery_weekday=" ".join(delivery), lead_d=lead)
    found = slots(item, now, now.date() + timedelta(days=40))
    assert found
    for slot in found:
        assert slot.cutoff >= now
        assert DAYS_OF_WEEK[slot.cutoff.weekday()] == cutoff
        assert DAYS_OF_WEEK[slot.delivery.weekday()] in delivery
        assert (slot.delivery - slot.cutoff.date()).days >= lead
    assert [slot.delivery for slot in found] == sorted({slot.delivery for slot in found})
