-- name: suppliers
-- Every supplier by name.
select id, name, kind from suppliers order by name

-- name: lines
-- Goods received between two days, with the receiving rule of the item; what is not goods is in `apart`.
select d.supplier_id, d.received_on, d.due_on, d.item_id, coalesce(i.name, d.item_id), d.product_id, coalesce(p.name, ''), d.unit,
  d.ordered, d.received, d.rejected, d.reject_reason, d.door_temp_f, d.price, d.priced_quantity, d.document, d.note,
  h.id, h.rule, h.temp_f, h.direction, h.edition, h.section, h.basis
from standing_deliveries as d left join items as i on i.id = d.item_id
left join products as p on p.id = d.product_id left join holding_rules as h on h.id = i.receiving_rule_id
where d.kind = 'goods' and d.received_on between :since and :until
  and (:supplier = '' or d.supplier_id = :supplier) and (:item = '' or d.item_id = :item)
order by d.received_on, d.id

-- name: apart
-- Credits, charges and deposits of one supplier between two days: money, not goods, so in no figure.
select d.received_on, d.kind, coalesce(i.name, d.item_id), d.unit, d.received, d.price, d.document, d.note
from standing_deliveries as d left join items as i on i.id = d.item_id
where d.kind <> 'goods' and d.received_on between :since and :until and d.supplier_id = :supplier
  and (:item = '' or d.item_id = :item)
order by d.received_on desc, d.id desc

-- name: items
-- Items that a supplier sells or has delivered, by name.
select i.id, i.name from items as i where i.id in (
  select item_id from products where supplier_id = :supplier
  union select item_id from standing_deliveries where supplier_id = :supplier)
order by i.name

-- name: reaches
-- Dishes on the menu that this supplier's items reach, and by which items.
select distinct r.id, r.name, i.name from products as p join items as i on i.id = p.item_id
join explosion as e on e.item_id = p.item_id and e.amount > 0 join recipes as r on r.id = e.recipe_id and r.kind = 'dish'
where p.supplier_id = :supplier and p.is_active = 1 and (:item = '' or p.item_id = :item) and r.status = 'active'
  and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day order by r.name, i.name
