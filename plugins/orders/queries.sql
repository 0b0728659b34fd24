-- name: suppliers
-- Suppliers in use and their terms.
select id, name, contact, phone, email, order_by, lead_days, delivers_on, minimum_order from suppliers
where is_active = 1 order by name

-- name: off
-- Days on which a supplier does not deliver; null: the kitchen is closed.
select on_date, supplier_id from holidays where on_date >= :day

-- name: items
-- Items with a product that is bought.
select i.id, i.name, i.category, i.unit, i.shelf_life_days from items as i
where exists (select 1 from products as p where p.item_id = i.id and p.is_active = 1) order by i.category, i.name

-- name: products
-- Products that are bought, of suppliers in use.
select p.id, p.supplier_id, p.item_id, p.name, p.code, p.pack, p.pack_quantity from products as p
join suppliers as s on s.id = p.supplier_id and s.is_active = 1 where p.is_active = 1 order by p.id

-- name: last_came
-- The last delivery of each product: day, price, what it was for.
select d.product_id, max(d.received_on), d.price, d.priced_quantity from standing_deliveries as d
where d.kind = 'goods' and d.product_id is not null and cast(d.received as real) > 0 and d.received_on <= :day
  and d.price is not null group by d.product_id

-- name: quotes
-- The last asked price of each product.
select product_id, max(quoted_on), price, priced_quantity from price_quotes where quoted_on <= :day group by product_id

-- name: expected
-- Goods ordered and not here yet.
select d.id, d.supplier_id, d.item_id, d.product_id, d.ordered, d.unit, d.due_on, d.ordered_on from standing_deliveries as d
where d.kind = 'goods' and d.ordered is not null and d.due_on >= :since and cast(d.received as real) = 0
  and d.reject_reason = '' and cast(d.ordered as real) > 0

-- name: lines
-- What people changed or sent, the last word on each line; changed_by: who put that quantity there.
select l.supplier_id, l.due_on, l.item_id, l.product_id, l.packs, l.quantity, l.state, l.actor, l.sums,
  coalesce((select c.actor from standing_order_lines as c where c.supplier_id = l.supplier_id and c.due_on = l.due_on
    and c.item_id = l.item_id and c.state = 'changed' and c.quantity = l.quantity order by c.id desc limit 1), l.actor) as changed_by
from standing_order_lines as l
where l.due_on >= :day and l.id = (select max(x.id) from standing_order_lines as x
  where x.supplier_id = l.supplier_id and x.due_on = l.due_on and x.item_id = l.item_id)
