import asyncio
from collections.abc import AsyncIterator

from service.watch.publish import KEPT, QUEUE, Broker


async def take(stream: AsyncIterator[str], count: int) -> list[str]:
    """The next so many pieces of a stream."""
    return [await asyncio.wait_for(anext(stream), 2) for _ in range(count)]


def run(work) -> object:  # type: ignore[no-untyped-def]
    """Run a coroutine in a loop of its own."""
    loop = asyncio.new_event_loop()
    try:
        return loop.run_until_complete(work)
    finally:
        loop.close()


def test_a_page_hears_what_is_published_with_numbered_ids() -> None:
    async def listen() -> list[str]:
        broker = Broker("b1")
        stream = broker.listen(None)
        first = await take(stream, 1)
        broker.publish("sample", {"temp_c": 19.8})
        return first + await take(stream, 1)

    hello, event = run(listen())  # type: ignore[misc]

    assert hello == "retry: 3000\n\n"
    assert event == 'id: b1-1\nevent: sample\ndata: {"temp_c":19.8}\n\n'


def test_a_page_that_comes_back_gets_what_it_missed() -> None:
    async def listen() -> list[str]:
        broker = Broker("b1")
        for n in range(5):
            broker.publish("sample", {"n": n})
        return await take(broker.listen("b1-3"), 3)

    pieces = run(listen())

    assert [piece.split("\n")[0] for piece in pieces[1:]] == ["id: b1-4", "id: b1-5"]  # type: ignore[index]


def test_a_page_of_an_earlier_run_or_one_that_missed_too_much_is_told_to_reload() -> None:
    async def listen(last_id: str) -> str:
        broker = Broker("b2")
        for n in range(KEPT + 10):
            broker.publish("sample", {"n": n})
        return (await take(broker.listen(last_id), 2))[1]

    for last_id in ("b1-3", "b2-4", "b2-99999", "nonsense"):
        assert "event: reload" in str(run(listen(last_id)))


def test_a_page_that_does_not_keep_up_is_dropped_and_nobody_waits() -> None:
    async def listen() -> tuple[list[str], int]:
        broker = Broker("b1")
        stream = broker.listen(None)
        await take(stream, 1)
        for n in range(QUEUE + 50):
            broker.publish("sample", {"n": n})
        await asyncio.sleep(0)
        pieces = [piece async for piece in stream]
        return pieces, broker.readers

    pieces, readers = run(listen())  # type: ignore[misc]

    assert "event: reload" in pieces[-1]
    assert readers == 0


def test_closing_ends_every_page() -> None:
    async def listen() -> tuple[list[str], list[str]]:
        broker = Broker("b1")
        stream = broker.listen(None)
        await take(stream, 1)
        broker.close()
        rest = [piece async for piece in stream]
        late = [piece async for piece in broker.listen(None)]
        return rest, late

    assert run(listen()) == ([], [])
