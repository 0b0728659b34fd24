-- name: list
-- Every recipe that may be opened, with its station and what it makes.
select r.id, r.name, r.kind, r.status, r.section, r.yield_text, coalesce(s.name, ''), s.id, r.shelf_life_days
from recipes as r left join stations as s on s.id = r.station_id
where r.status <> 'retired' order by r.name

-- name: recipe
-- One recipe's own facts.
select r.id, r.name, r.kind, r.status, r.section, r.yield_text, coalesce(s.name, ''), r.shelf_life_days, r.no_date_mark, r.storage,
  r.active_s, r.passive_s, r.least_batch, r.shrink, r.trim, r.note
from recipes as r left join stations as s on s.id = r.station_id where r.id = :recipe

-- name: book
-- A recipe and all that it reaches.
with recursive inside (id) as (
  select :recipe union select c.sub_recipe_id from components as c join inside on inside.id = c.recipe_id
  where c.sub_recipe_id is not null
)
select r.id, r.name, r.kind, r.yield_quantity, r.yield_unit, r.yield_text
from recipes as r join inside on inside.id = r.id

-- name: lines
-- Lines of a recipe and of all that it reaches, in the order of the card.
with recursive inside (id) as (
  select :recipe union select c.sub_recipe_id from components as c join inside on inside.id = c.recipe_id
  where c.sub_recipe_id is not null
)
select c.recipe_id, c.id, c.item_id, c.sub_recipe_id, coalesce(i.name, r.name), c.quantity, c.unit, c.said_quantity,
  c.said_unit, c.prep, coalesce(c.edible_yield, i.edible_yield), c.is_removable, c.scales
from components as c join inside on inside.id = c.recipe_id
left join items as i on i.id = c.item_id left join recipes as r on r.id = c.sub_recipe_id
order by c.recipe_id, c.position

-- name: steps
-- Method of a recipe and of all that it reaches.
with recursive inside (id) as (
  select :recipe union select c.sub_recipe_id from components as c join inside on inside.id = c.recipe_id
  where c.sub_recipe_id is not null
)
select m.recipe_id, m.text from method_steps as m join inside on inside.id = m.recipe_id
order by m.recipe_id, m.position

-- name: users
-- Recipes with a line that takes this one, dishes first.
select distinct r.id, r.name, r.kind, r.status from components as c join recipes as r on r.id = c.recipe_id
where c.sub_recipe_id = :recipe and r.status <> 'retired' order by r.kind <> 'dish', r.name

-- name: dishes_above
-- Dishes that a recipe gets into, by any way.
with recursive above (id) as (
  select :recipe union select c.recipe_id from components as c join above on above.id = c.sub_recipe_id
)
select r.id, r.name from recipes as r join above on above.id = r.id
where r.kind = 'dish' and r.status = 'active' and r.id <> :recipe order by r.name

-- name: tools
-- What a recipe is made on and passes over: kind 'equipment' or 'surface'.
select 'equipment', e.name from recipe_equipment as x join equipment as e on e.id = x.equipment_id where x.recipe_id = :recipe
union all
select 'surface', s.name from recipe_surfaces as x join surfaces as s on s.id = x.surface_id where x.recipe_id = :recipe

-- name: cooking
-- A recipe's cooking programme, step by step.
select kind, temp_f, temp_c, end_f, end_c, seconds, until_core_f, flips, humidity, note from cooking_steps
where recipe_id = :recipe order by position

-- name: minimums
-- The rules that a recipe is cooked under, by its piece or by a step.
select distinct m.food_class, m.min_temp_f, m.hold_seconds, m.edition, m.section, m.basis
from (
  select recipe_id, minimum_id from pieces union select recipe_id, minimum_id from cooking_steps
) as cooked join cooking_minimums as m on m.id = cooked.minimum_id
where cooked.recipe_id = :recipe order by m.min_temp_f

-- name: measures
-- What one measure of a recipe, and of the items on its lines, is in their base units.
select 'recipe', measure, quantity from recipe_measures where recipe_id = :recipe
union all
select m.item_id, m.measure, m.quantity from item_measures as m
where m.item_id in (select item_id from components where recipe_id = :recipe)
union all
select m.recipe_id, m.measure, m.quantity from recipe_measures as m
where m.recipe_id in (select sub_recipe_id from components where recipe_id = :recipe)

-- name: cards_of_dish
-- Recipes on the plate of a dish.
select r.id, r.name from components as c join recipes as r on r.id = c.sub_recipe_id
where c.recipe_id = :recipe order by c.position

-- name: batch
-- One batch as it was written down, whether it still counts.
select b.id, b.recipe_id, coalesce(r.name, b.recipe_id), r.status, b.lot_code, b.made_on, b.made_at, b.quantity, b.unit,
  b.use_by, b.frozen_on, b.thawed_on, b.from_lots, coalesce(s.name, ''), b.actor, b.note, r.shelf_life_days, coalesce(r.no_date_mark, ''), b.stands,
  (select max(later.id) from batches as later where later.voids = b.id)
from batches as b left join recipes as r on r.id = b.recipe_id left join stations as s on s.id = b.station_id
where b.id = :batch

-- name: batch_freezes
-- Stays in the freezer of one batch, in order.
select what, moved_on from standing_batch_freezes where recipe_id = :recipe and lot_code = :lot order by moved_on, id

-- name: batch_uses
-- What was used of one batch, or thrown away.
select what, used_on, quantity, reason from standing_batch_uses
where batch_id = :batch or batch_id in (select entry_id from batch_correction where batch_id = :batch) order by used_on, id

-- name: lots_within
-- Batches with one of these lot codes that were made by a day, the latest of each code first.
select b.lot_code, b.id, coalesce(r.name, b.recipe_id), b.use_by, b.made_on
from standing_batches as b left join recipes as r on r.id = b.recipe_id
where b.lot_code in (select value from json_each(:lots)) and b.made_on <= :day order by b.made_on desc, b.id desc

-- name: delivered_within
-- Deliveries with one of these lot codes: what came, when, its date. Of a code that several things came under, those
-- that are in the recipe, at any depth; all of them where none is.
with came as (
  select d.id, d.lot_code, d.item_id, d.use_by, d.received_on,
    exists (select 1 from explosion as e where e.recipe_id = :recipe and e.item_id = d.item_id and e.amount > 0) as is_in
  from standing_deliveries as d where d.lot_code in (select value from json_each(:lots)) and d.received_on <= :day
)
select c.lot_code, coalesce(i.name, c.item_id), c.use_by, c.received_on
from came as c left join items as i on i.id = c.item_id
where c.is_in or not exists (select 1 from came as other where other.lot_code = c.lot_code and other.is_in)
order by c.received_on desc, c.id desc

-- name: made_with
-- Batches that name a lot among those that went in.
select b.id, coalesce(r.name, b.recipe_id), b.lot_code, b.made_on
from standing_batches as b left join recipes as r on r.id = b.recipe_id
where b.made_on >= :day and '; ' || replace(b.from_lots, ';', '; ') || ';' like '%; ' || :lot || ';%'
order by b.made_on, b.id limit 40

-- name: picture
-- A recipe's picture.
select picture from photos where recipe_id = :recipe

-- name: picture_mark
-- What tells a recipe's picture from an earlier one.
select substr(source_sha256, 1, 12) from photos where recipe_id = :recipe
