create view breakdown_part as
-- One row per thing that came out of a breakdown that counts; losses aside. grain: output_id. needs: standing_breakdowns, standing_breakdown_outputs, recipes, items, recipe_measures, item_measures, recipe_life.
-- thing_id: the portion's recipe, or the by-product's item.
-- unit: the unit it is kept in.
-- weight_g: exact, g.
-- pieces: how many; null where nobody counted them.
-- portion_g: exact, g of one portion of a cut.
-- per_gram: exact, its unit for one gram, where a measure of it says so.
-- last_on: last day of use, the day it was cut being day 1: a portion's as any recipe's (recipe_life), a by-product's by its own
-- shelf life; where neither says, as the cut's, else seven days.
select
    output.id as output_id,
    breakdown.id as breakdown_id,
    breakdown.code,
    breakdown.lot_code,
    breakdown.cut_recipe_id,
    breakdown.broken_on,
    coalesce(output.recipe_id, output.item_id) as thing_id,
    output.recipe_id is null as is_item,
    coalesce(recipe.yield_unit, item.unit) as unit,
    output.weight_g,
    output.pieces,
    recipe.portion_quantity as portion_g,
    coalesce(
        (select measure.quantity from recipe_measures as measure where measure.recipe_id = recipe.id and measure.measure = 'g'),
        (select measure.quantity from item_measures as measure where measure.item_id = item.id and measure.measure = 'g')
    ) as per_gram,
    date(
        breakdown.broken_on,
        (coalesce(life.life_days, nullif(item.shelf_life_days, 0), cut.life_days, 7) - 1) || ' days'
    ) as last_on
from standing_breakdowns as breakdown
join standing_breakdown_outputs as output on output.breakdown_code = breakdown.code
left join recipes as recipe on recipe.id = output.recipe_id
left join items as item on item.id = output.item_id
left join recipe_life as life on life.recipe_id = output.recipe_id
left join recipe_life as cut on cut.recipe_id = breakdown.cut_recipe_id
where coalesce(recipe.id, item.id) is not null
    and breakdown.id = (select max(same.id) from standing_breakdowns as same where same.code = breakdown.code)
