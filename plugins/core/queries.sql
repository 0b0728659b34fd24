-- name: changes
-- Allergen changes that nobody has read, newest first.
select c.id, c.dish_id, c.dish_name, c.allergen_id, a.name, c.was, c.now, c.because, c.changed_on
from allergen_changes as c left join allergens as a on a.id = c.allergen_id
where c.id not in (select change_id from standing_change_reads) order by c.id desc

-- name: unread
-- Items on today's menu with a label that nobody has read, or that nothing is bought as, by how many dishes they are in.
select i.id, i.name, count(distinct u.kind || u.id), count(distinct e.recipe_id), min(u.kind = 'no product')
from unread_label as u join items as i on i.id = u.item_id
join explosion as e on e.item_id = i.id and e.amount > 0 join recipes as r on r.id = e.recipe_id and r.kind = 'dish'
where r.status = 'active' and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day
group by i.id order by count(distinct e.recipe_id) desc, i.name

-- name: short
-- What is short or out now: the last word on each thing.
select coalesce(s.item_id, s.recipe_id), coalesce(i.name, r.name), s.state, s.expected_on, s.item_id is not null
from standing_shortages as s left join items as i on i.id = s.item_id left join recipes as r on r.id = s.recipe_id
where s.id in (select max(id) from standing_shortages group by item_id, recipe_id) and s.state <> 'back' order by 2

-- name: late
-- Goods that came after the day they were promised for, in the days before today, newest first.
select d.supplier_id, s.name, i.name, d.due_on, d.received_on
from standing_deliveries as d join suppliers as s on s.id = d.supplier_id join items as i on i.id = d.item_id
where d.kind = 'goods' and d.received_on > d.due_on and d.received_on between :since and :day
order by d.received_on desc, s.name, i.name
