create view recipe_life as
-- One row per recipe: how many days it keeps once made. grain: recipe_id. needs: recipes.
-- life_days: days, the day it is made being day 1; null when no rule gives any. db/date_marks.py is the truth, a test holds them together.
-- decided_by: shelf life, date mark (Food Code 3-501.17), or null.
select
    recipe.id as recipe_id,
    case
        when recipe.no_date_mark <> '' then max(recipe.shelf_life_days, 1)
        else min(max(coalesce(recipe.shelf_life_days, 7), 1), 7)
    end as life_days,
    case
        when recipe.shelf_life_days is null then case when recipe.no_date_mark = '' then 'date mark' end
        when recipe.no_date_mark <> '' or recipe.shelf_life_days <= 7 then 'shelf life'
        else 'date mark'
    end as decided_by
from recipes as recipe
