-- name: dishes
-- Every dish that is cooked, in or out of season.
select id, name, section, coalesce(from_on, '0000'), coalesce(to_on, '9999') from recipes
where kind = 'dish' and status = 'active' order by name

-- name: paths
-- Every path of every recipe to an item; by-product credits aside.
select recipe_id, item_id, path, component_ids from explosion where amount > 0 order by recipe_id, path_no

-- name: lines
-- Every line of a recipe: what it is, the sub-recipe it takes, whether a plate can go out without it.
select c.id, coalesce(i.name, r.name), c.sub_recipe_id, c.is_removable
from components as c left join items as i on i.id = c.item_id left join recipes as r on r.id = c.sub_recipe_id

-- name: substitutes
-- What may stand in for a line of a dish; what is listed for that dish alone comes first.
select c.id, coalesce(i.name, r.name), s.with_item_id, s.with_recipe_id
from substitutes as s
join components as c on c.item_id = s.for_item_id or c.sub_recipe_id = s.for_recipe_id
join recipes as dish on dish.id = c.recipe_id and dish.kind = 'dish'
left join items as i on i.id = s.with_item_id left join recipes as r on r.id = s.with_recipe_id
where s.in_recipe_id is null or s.in_recipe_id = c.recipe_id
order by s.in_recipe_id is null, s.id

-- name: surfaces
-- Which recipe passes over which surface.
select s.name, x.recipe_id from recipe_surfaces as x join surfaces as s on s.id = x.surface_id

-- name: item_texts
-- Everything that names an item: its name, tags, products and their printed ingredients. kind: 'name' or 'ingredients'.
select id, 'name' as kind, name as text from items
union all select id, 'name', id from items
union all select item_id, 'name', tag from item_tags
union all select item_id, 'name', name from products where is_active = 1
union all select item_id, 'ingredients', ingredients from products where is_active = 1 and ingredients <> ''

-- name: allergens
-- Every allergen with its group and what else it is called, in the order of the page.
select id, name, parent_id, also_called from allergens order by position

-- name: groups
-- The regime's own list, and which allergens each entry takes in.
select r.code, r.name, g.allergen_id from allergen_regimes as r join allergen_groups as g using (regime, code)
where r.regime = :regime and r.is_listed = 1 order by r.rowid

-- name: label_words
-- Words of an ingredient list that stand for an allergen.
select word, allergen_id from label_words where presence = 'contains'

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
