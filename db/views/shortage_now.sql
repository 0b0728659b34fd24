create view shortage_now as
-- One row per item or recipe that is short or out now: its last word, unless that is 'back'. grain: shortage_id. needs: standing_shortages, items, recipes.
-- thing: name of the item or recipe.
-- state: 'short' or 'out'.
-- expected_on: day somebody said it is back; null when nobody has.
with last_word as (  -- the newest row of each thing
    select max(id) as id from standing_shortages group by item_id, recipe_id
)
select
    shortage.id as shortage_id,
    shortage.item_id,
    shortage.recipe_id,
    coalesce(item.name, recipe.name) as thing,
    shortage.state,
    shortage.since_on,
    shortage.expected_on,
    shortage.note
from last_word
join standing_shortages as shortage on shortage.id = last_word.id
left join items as item on item.id = shortage.item_id
left join recipes as recipe on recipe.id = shortage.recipe_id
where shortage.state <> 'back'
