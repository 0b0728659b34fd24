-- name: uses
-- Every path from a recipe to one item, dishes first.
select e.recipe_id, r.name, r.kind, r.yield_unit, e.quantity,
  coalesce(e.edible_yield, (select i.edible_yield from components as c join recipes as of on of.id = c.recipe_id
    join items as i on i.id = c.item_id where c.id = json_extract(e.component_ids, '$[#-1]') and of.kind <> 'cut')), e.path,
  r.status = 'active' and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day as on_menu
from explosion as e join recipes as r on r.id = e.recipe_id
where e.item_id = :item and e.amount > 0 order by r.kind, r.name, e.path_no

-- name: parts
-- Lines of recipes that lead to one item: what one batch of the recipe takes, and how much a batch is.
select c.recipe_id, coalesce(c.item_id, c.sub_recipe_id), c.quantity, r.yield_quantity,
  case when c.item_id is not null then coalesce(c.edible_yield, case when r.kind <> 'cut' then i.edible_yield end) end
from components as c join recipes as r on r.id = c.recipe_id left join items as i on i.id = c.item_id
where c.item_id = :item
  or c.sub_recipe_id in (select recipe_id from explosion where item_id = :item and amount > 0)

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

-- name: out_list
-- Everything that is short or out now, dishes first, the newest first.
select coalesce(s.recipe_id, s.item_id), s.thing, s.state, s.since_on, s.expected_on, s.note, s.recipe_id is not null, s.shortage_id,
  (select group_concat(name, ', ') from (select distinct r.name from explosion as e join recipes as r on r.id = e.recipe_id
    where e.item_id = s.item_id and e.amount > 0 and r.kind = 'dish' and r.status = 'active'
      and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day order by r.name limit 8))
from shortage_now as s order by s.state = 'short', s.recipe_id is null, s.shortage_id desc

-- name: lives
-- Days that what is made keeps; a plate is made when it is sold, so without a word of its own it has none.
select r.id, iif(r.kind = 'dish' and r.shelf_life_days is null, null, l.life_days)
from recipes as r join recipe_life as l on l.recipe_id = r.id
