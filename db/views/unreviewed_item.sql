create view unreviewed_item as
-- One row per item whose labels are not all read, with what it reaches. grain: item_id. needs: item_review, dish_item.
-- review: 'not reviewed', or 'no product' where nothing is bought as it.
-- product_count: active products that suppliers sell as this item.
-- unread_count: labels that nobody has read, goods seen at the door included.
-- dish_count: dishes that it reaches, on the menu or not; by-product credits do not count.
select
    item_review.item_id,
    item_review.item,
    item_review.category,
    item_review.review,
    item_review.product_count,
    item_review.unread_count,
    count(dish_item.dish_id) as dish_count
from item_review
left join dish_item on dish_item.item_id = item_review.item_id
where item_review.review in ('not reviewed', 'no product')
group by item_review.item_id
