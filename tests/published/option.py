"""`--published DIR`: a plugin of its own, because pytest must know the option before it looks at paths on the command line."""


def pytest_addoption(parser):
    parser.addoption(
        "--published",
        action="append",
        default=[],
        metavar="DIR",
        help="also check the tables of published numbers in DIR",
    )
