"""nuttery check: re-read the whole register and say what is wrong with it."""

from nuttery.cli.common import Asked, print_json


def check(*, asked: Asked = Asked()) -> int:
    """Re-read everything: content hashes, references, and derived tables against a fresh run."""
    from nuttery.season.upkeep import check_planting

    troubles = check_planting(asked.planting)
    if asked.json:
        print_json({"sound": not troubles, "troubles": troubles})
    elif troubles:
        print("\n".join(str(trouble) for trouble in troubles))
    else:
        print("Sound: every note reads back as it was kept, and what is derived agrees.")
    return 1 if troubles else 0
