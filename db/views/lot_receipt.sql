create view lot_receipt as
-- One row per ageing lot that says what it came as: the delivery line that counts now, whatever corrected it since. grain: lot_id. needs: standing_ageing_lots, standing_deliveries, deliveries.
with recursive entry (lot_id, delivery_id) as (
    select id, delivery_id from standing_ageing_lots where delivery_id is not null
    union
    select entry.lot_id, later.id
    from entry
    join deliveries as later on later.voids = entry.delivery_id
)
select
    entry.lot_id,
    entry.delivery_id
from entry
join standing_deliveries as delivery on delivery.id = entry.delivery_id
