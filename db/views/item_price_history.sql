create view item_price_history as
-- One row per priced delivery line, beside the price before it. grain: delivery_id. needs: delivery_line.
-- unit_price: money for one price_unit, a real for reading and sorting.
-- price_unit: kg, l or each.
-- price_before: unit_price of the line before, same supplier, item and product; null for the first.
-- change_pct: change from price_before, 0 to 100 and beyond; null for the first, and after a price of nothing.
with priced as (
    select
        delivery_id, item_id, item, supplier_id, supplier, product_id, product, received_on, unit_price, price_unit,
        lag(unit_price) over (
            partition by supplier_id, item_id, product_id, price_unit order by received_on, delivery_id
        ) as price_before
    from delivery_line
    where unit_price is not null
)
select
    delivery_id,
    item_id,
    item,
    supplier_id,
    supplier,
    product_id,
    product,
    received_on,
    unit_price,
    price_unit,
    price_before,
    100.0 * (unit_price - price_before) / nullif(price_before, 0.0) as change_pct
from priced
