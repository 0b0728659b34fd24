-- name: uses
-- Every path from a recipe to one item, dishes first.
select e.recipe_id, r.name, r.kind, r.yield_unit, e.quantity, e.edible_yield, e.path,
  r.status = 'active' and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day as on_menu
from explosion as e join recipes as r on r.id = e.recipe_id
where e.item_id = :item and e.amount > 0 order by r.kind, r.name, e.path_no

-- name: parts
-- Lines of recipes that lead to one item: what one batch of the recipe takes, and how much a batch is.
select c.recipe_id, coalesce(c.item_id, c.sub_recipe_id), c.quantity, r.yield_quantity,
  case when c.item_id is not null then c.edible_yield end
from components as c join recipes as r on r.id = c.recipe_id
where c.item_id = :item
  or c.sub_recipe_id in (select recipe_id from explosion where item_id = :item and amount > 0)

-- name: events
-- What was written down about some things: one row each of count, batch made, delivery, use. `since` is the day of the
-- last count, else the day that the oldest batch still in date was made: what was before can't be on hand now.
with wanted as (select value as id from json_each(:ids)),
last as (
  select coalesce(item_id, recipe_id) as id, max(counted_on) as day from standing_counts
  where coalesce(item_id, recipe_id) in (select id from wanted) and counted_on <= :day group by 1
),
since as (
  select w.id, coalesce(l.day, (select min(b.made_on) from standing_batches as b
    where b.recipe_id = w.id and coalesce(b.use_by, '9') >= :day), :day) as day, l.day is not null as is_counted
  from wanted as w left join last as l on l.id = w.id
)
select s.id, 'count' as what, c.counted_on, c.quantity, '0' as less, null as use_by, null as lot
from since as s join standing_counts as c on coalesce(c.item_id, c.recipe_id) = s.id and c.counted_on = s.day
where s.is_counted and c.id = (select x.id from standing_counts as x
  where coalesce(x.item_id, x.recipe_id) = s.id and x.counted_on = s.day order by coalesce(x.counted_at, '9') desc, x.id desc limit 1)
union all
select s.id, 'made', b.made_on, b.quantity, '0', b.use_by, b.id
from since as s join standing_batches as b on b.recipe_id = s.id
where b.made_on <= :day and coalesce(b.use_by, '9') >= s.day
union all
select s.id, 'came', d.received_on, d.received, d.rejected, d.use_by, null
from since as s join standing_deliveries as d on d.item_id = s.id
where d.kind = 'goods' and s.is_counted and d.received_on > s.day and d.received_on <= :day
union all
select s.id, u.what, u.used_on, u.quantity, '0', null, u.batch_id
from since as s join (
  select coalesce(u.item_id, u.recipe_id, b.recipe_id) as id, u.what, u.used_on, u.quantity, u.batch_id
  from standing_batch_uses as u left join standing_batches as b on b.id = u.batch_id
) as u on u.id = s.id
where u.used_on >= s.day and u.used_on <= :day

-- name: draws
-- What batches made since the last count took of the things they are made of: it is in those batches now.
select coalesce(c.item_id, c.sub_recipe_id), b.made_on, b.quantity, r.yield_quantity, c.quantity,
  case when c.item_id is not null then c.edible_yield end
from standing_batches as b join recipes as r on r.id = b.recipe_id join components as c on c.recipe_id = b.recipe_id
where coalesce(c.item_id, c.sub_recipe_id) in (select value from json_each(:ids)) and b.made_on > :from and b.made_on <= :day

-- name: substitutes
-- What may stand in for an item, or for a sub-recipe that holds it.
select coalesce(fi.name, fr.name), coalesce(s.for_item_id, s.for_recipe_id), coalesce(wi.name, wr.name),
  coalesce(s.with_item_id, s.with_recipe_id), s.with_item_id is not null, s.in_recipe_id, inside.name, s.ratio, s.ratio_unit,
  coalesce(fi.unit, fr.yield_unit), coalesce(wi.unit, wr.yield_unit), s.note
from substitutes as s
left join items as fi on fi.id = s.for_item_id left join recipes as fr on fr.id = s.for_recipe_id
left join items as wi on wi.id = s.with_item_id left join recipes as wr on wr.id = s.with_recipe_id
left join recipes as inside on inside.id = s.in_recipe_id
where s.for_item_id = :item
  or s.for_recipe_id in (select recipe_id from explosion where item_id = :item and amount > 0)
order by s.id

-- name: ways
-- Every path to a bought item, of some recipes.
select recipe_id, item_id, component_ids from explosion
where amount > 0 and recipe_id in (select value from json_each(:ids))

-- name: shortages
-- The last word on each thing that is short or out.
select coalesce(r.kind, 'item'), coalesce(s.item_id, s.recipe_id), coalesce(i.name, r.name, s.item_id, s.recipe_id), s.state,
  s.since_on, s.expected_on, s.note
from standing_shortages as s left join items as i on i.id = s.item_id left join recipes as r on r.id = s.recipe_id
where s.state <> 'back' and s.id = (select x.id from standing_shortages as x
  where x.item_id is s.item_id and x.recipe_id is s.recipe_id
  order by x.since_on desc, coalesce(x.since_at, '') desc, x.id desc limit 1)
order by s.state = 'short', 3
