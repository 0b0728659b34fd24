-- name: trials
-- Every trial, the last written first: id, name that its last version says, number of versions, last version, day.
select t.trial_id, (select iif(v.name = '', v.trial, v.name) from standing_trial_versions as v
  where v.trial_id = t.trial_id order by v.version desc, v.id desc limit 1) as called, count(*), max(t.version), max(t.written_on)
from standing_trial_versions as t group by t.trial_id order by max(t.written_on) desc, called

-- name: versions
-- Versions of one trial, oldest first, each with the name that it says and the trial's own.
select version, based_on, began_from, written_on, actor, note, iif(name = '', trial, name), trial from standing_trial_versions
where trial_id = :trial order by version, id

-- name: tastings
-- Tasting notes on a trial or dish, in the order in which they were written.
select version, tasted_on, actor, score, words, decision, id, request_id from standing_tastings
where recipe_id = :trial order by tasted_on, id

-- name: tasted
-- Trial or dish, version, score, day and decision of every tasting note.
select recipe_id, version, score, tasted_on, decision from standing_tastings order by tasted_on, id

-- name: dishes
-- Dishes and sub-recipes that a trial can begin from.
select id, name, kind, status from recipes where kind <> 'cut' order by kind, name

-- name: cooked
-- Cooking steps of some recipes, as they were written.
select r.id, r.name, s.kind, s.temp_f, s.temp_c, s.end_f, s.end_c, s.seconds, s.until_core_f, s.flips
from cooking_steps as s join recipes as r on r.id = s.recipe_id
where r.id in (select value from json_each(:recipes)) order by r.name, s.position

-- name: minimums
-- Rules that some recipes are cooked under, by their pieces or by one step.
select distinct r.id, m.food_class, m.min_temp_f, m.hold_seconds, m.edition, m.section, m.basis
from (select recipe_id, minimum_id from pieces union select recipe_id, minimum_id from cooking_steps) as cooked
join recipes as r on r.id = cooked.recipe_id join cooking_minimums as m on m.id = cooked.minimum_id
where r.id in (select value from json_each(:recipes)) order by r.name, m.min_temp_f

-- name: taken
-- Whether a name's id is a recipe or an item already.
select name, 'recipe' from recipes where id = :id union all select name, 'item' from items where id = :id

-- name: declared_of
-- Items with each allergen on the labels of their products; null where there is none. items: their ids, in JSON.
select distinct i.name, a.allergen_id from items as i
left join products as p on p.item_id = i.id
left join product_allergens as a on a.product_id = p.id
where i.id in (select value from json_each(:items))
