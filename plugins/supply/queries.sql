-- name: uses
-- Every path from a recipe to one item, dishes first.
select e.recipe_id, r.name, r.kind, r.yield_unit, e.quantity, e.edible_yield, e.path, e.component_ids,
  r.status = 'active' and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day as on_menu
from explosion as e join recipes as r on r.id = e.recipe_id
where e.item_id = :item and e.amount > 0 order by r.kind, r.name, e.path_no

-- name: stock
-- Last standing count of each item and recipe, and what came and left after its day.
with last as (
  select coalesce(item_id, recipe_id) as id, max(counted_on) as day from standing_counts where counted_on <= :day group by 1
)
select ids.id, c.quantity, last.day,
  (select group_concat(d.received || ' ' || d.rejected, ';') from standing_deliveries as d
    where d.item_id = ids.id and d.kind = 'goods' and d.received_on > coalesce(last.day, date(:day, '-7 days')) and d.received_on <= :day),
  (select group_concat(b.quantity, ';') from standing_batches as b
    where b.recipe_id = ids.id and b.made_on > coalesce(last.day, '0') and b.made_on <= :day and coalesce(b.use_by, '9') >= :day),
  (select group_concat(u.quantity, ';') from standing_batch_uses as u
    where coalesce(u.item_id, u.recipe_id) = ids.id and u.used_on > coalesce(last.day, date(:day, '-7 days')) and u.used_on <= :day)
from (select value as id from json_each(:ids)) as ids
left join last on last.id = ids.id
left join standing_counts as c on c.id = (
  select max(x.id) from standing_counts as x where coalesce(x.item_id, x.recipe_id) = ids.id and x.counted_on = last.day)

-- name: substitutes
-- What may stand in for an item, or for a sub-recipe that holds it.
select s.id, coalesce(fi.name, fr.name), coalesce(s.for_item_id, s.for_recipe_id), s.for_item_id is not null,
  coalesce(wi.name, wr.name), coalesce(s.with_item_id, s.with_recipe_id), s.with_item_id is not null, s.in_recipe_id, s.ratio,
  coalesce(wi.unit, wr.yield_unit), coalesce(fi.unit, fr.yield_unit), s.ratio_unit
from substitutes as s
left join items as fi on fi.id = s.for_item_id left join recipes as fr on fr.id = s.for_recipe_id
left join items as wi on wi.id = s.with_item_id left join recipes as wr on wr.id = s.with_recipe_id
where s.for_item_id = :item
  or s.for_recipe_id in (select recipe_id from explosion where item_id = :item and amount > 0)
order by s.id
