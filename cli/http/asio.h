// SPDX-License-Identifier: Apache-2.0
//
// What is used of Boost.Asio.

#pragma once

// Boost 1.74 meets C++20's coroutines with headers of its own that compilers have left behind.
#ifndef BOOST_ASIO_DISABLE_CO_AWAIT
#define BOOST_ASIO_DISABLE_CO_AWAIT
#endif
#include <boost/asio/buffer.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/write.hpp>

namespace cli {

namespace asio = boost::asio;
using AsioError = boost::system::error_code;

}  // namespace cli
