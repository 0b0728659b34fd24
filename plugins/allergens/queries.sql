-- name: short
-- What is short or out now.
select coalesce(item_id, recipe_id), thing, state from shortage_now

-- name: minimums
-- The rules that some recipes are cooked under, by their pieces or by one step of their cooking.
select distinct r.name as recipe, m.food_class, m.min_temp_f, m.hold_seconds, m.edition, m.section, m.basis
from (
  select recipe_id, minimum_id from pieces union select recipe_id, minimum_id from cooking_steps
) as cooked
join recipes as r on r.id = cooked.recipe_id join cooking_minimums as m on m.id = cooked.minimum_id
where r.id in (select value from json_each(:recipes)) order by r.name, m.min_temp_f

-- name: plate
-- The lines of one dish as the cook wrote them.
select line, is_removable from components where recipe_id = :dish order by position
