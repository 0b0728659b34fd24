create view product_price_move as
-- One row per product delivered at more than one price. grain: product_id, price_unit. needs: item_price_history.
-- delivery_count: priced lines of it.
-- first_price: money for one price_unit on the first day, a real for reading and sorting.
-- last_price: the same on the last day.
-- price_unit: kg, l or each.
-- change_pct: from first_price to last_price, 0 to 100 and beyond; null after a price of nothing.
with ends as (  -- each priced line, with the first and last price of its product
    select
        product_id, product, supplier, item, price_unit, received_on, unit_price,
        first_value(unit_price) over product_line as first_price,
        last_value(unit_price) over product_line as last_price
    from item_price_history
    where product_id is not null
    window product_line as (
        partition by product_id, price_unit order by received_on, delivery_id
        rows between unbounded preceding and unbounded following
    )
)
select
    product_id,
    product,
    supplier,
    item,
    count(*) as delivery_count,
    min(received_on) as first_on,
    max(received_on) as last_on,
    first_price,
    last_price,
    price_unit,
    100.0 * (last_price - first_price) / nullif(first_price, 0.0) as change_pct
from ends
group by product_id, price_unit
having min(unit_price) < max(unit_price)
