-- name: suppliers
-- Every supplier by name.
select id, name, kind, place, is_active from suppliers order by name

-- name: lines
-- Goods received between two days, with the receiving rule of the item; credits, charges and deposits are kept apart.
select d.supplier_id, d.received_on, d.due_on, d.item_id, i.name, coalesce(p.name, ''), d.unit, d.ordered, d.received, d.rejected,
  d.reject_reason, d.door_temp_f, h.temp_f, h.direction, d.price, d.priced_quantity, d.document, d.note
from standing_deliveries as d join items as i on i.id = d.item_id
left join products as p on p.id = d.product_id left join holding_rules as h on h.id = i.receiving_rule_id
where d.kind = 'goods' and d.received_on between :since and :until
  and (:supplier = '' or d.supplier_id = :supplier) and (:item = '' or d.item_id = :item)
order by d.received_on, d.id

-- name: reaches
-- Dishes on the menu that this supplier's items reach.
select distinct r.id, r.name, i.name from products as p join items as i on i.id = p.item_id
join explosion as e on e.item_id = p.item_id and e.amount > 0 join recipes as r on r.id = e.recipe_id and r.kind = 'dish'
where p.supplier_id = :supplier and p.is_active = 1 and r.status = 'active'
  and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day order by r.name, i.name
