// Threads side by side: what one throws arrives where they are waited for, and nobody waits for ever.
#include "solver/settle/crew.h"

#include <doctest/doctest.h>

#include <atomic>
#include <new>
#include <stdexcept>
#include <thread>

using ebb::settle::Crew;

TEST_CASE("what a thread throws is thrown again where the crew is waited for") {
    Crew crew;
    REQUIRE(crew.start([] { throw std::bad_alloc(); }));
    CHECK_THROWS_AS(crew.join(), std::bad_alloc);
    CHECK(crew.over());
}

TEST_CASE("of several that throw one is heard, and the others are told to end") {
    std::atomic<int> ended{0};
    Crew crew;
    for (int i = 0; i < 3; ++i) {
        REQUIRE(crew.start([&] {
            while (!crew.over()) std::this_thread::yield();
            ++ended;
        }));
    }
    REQUIRE(crew.start([] { throw std::runtime_error("no more"); }));
    CHECK_THROWS_AS(crew.join(), std::runtime_error);
    CHECK(ended == 3);
}

TEST_CASE("a crew that nobody waits for is told to end, as when the one who asked throws") {
    std::atomic<int> ended{0};
    try {
        Crew crew;
        REQUIRE(crew.start([&] {
            while (!crew.over()) std::this_thread::yield();
            ++ended;
        }));
        throw std::runtime_error("in between");
    } catch (const std::runtime_error&) {
        CHECK(ended == 1);
    }
}
