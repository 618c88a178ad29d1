// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/rtp_receiver.h"

#include <algorithm>
#include <string_view>
#include <utility>

namespace bench {
namespace {

/// Larger than any datagram, so that none is ever cut.
constexpr int kIoBufferBytes = 1 << 16;

base::Error Failed(int code) {
  return base::FromFfmpeg(code, "RTP receiver");
}

/// Read once by FFmpeg: the session's description.
struct DescriptionText {
  std::string_view left;

  static int Read(void* self, std::uint8_t* into, int size) {
    auto& text = *static_cast<DescriptionText*>(self);
    const std::size_t taken =
        text.left.copy(reinterpret_cast<char*>(into), static_cast<std::size_t>(size));
    text.left.remove_prefix(taken);
    return taken == 0 ? AVERROR_EOF : static_cast<int>(taken);
  }
};

using Callback = int (*)(void*, std::uint8_t*, int);

/// With `write` FFmpeg may also send: its receiver reports.
AVIOContext* NewIo(void* self, Callback read, Callback write) {
  auto* buffer = static_cast<unsigned char*>(av_malloc(kIoBufferBytes));
  AVIOContext* io = nullptr;
  if (buffer != nullptr) {
    io = avio_alloc_context(buffer, kIoBufferBytes, write == nullptr ? 0 : 1, self, read, write,
                            nullptr);
  }
  if (io == nullptr) {
    av_free(buffer);
  }
  return io;
}

void FreeIo(AVIOContext* io) {
  if (io != nullptr) {
    av_freep(&io->buffer);
    avio_context_free(&io);
  }
}

}  // namespace

base::Result<std::unique_ptr<RtpReceiver>> RtpReceiver::Open(UdpSocket socket,
                                                             const Session& session,
                                                             const RunControl& control,
                                                             DatagramSeen seen) {
  std::unique_ptr<RtpReceiver> receiver(
      new RtpReceiver(std::move(socket), session, control, std::move(seen)));
  if (auto started = receiver->Start(session.description); !started) {
    return started.error();
  }
  return receiver;
}

RtpReceiver::RtpReceiver(UdpSocket socket, const Session& session, const RunControl& control,
                         DatagramSeen seen)
    : socket_(std::move(socket)),
      control_(control),
      seen_(std::move(seen)),
      clock_(session.first.timestamp, session.rate),
      source_(session.first.source) {}

RtpReceiver::~RtpReceiver() {
  input_.reset();
  FreeIo(io_);
}

base::Status RtpReceiver::Start(const std::string& description) {
  DescriptionText text{description};
  AVIOContext* const described = NewIo(&text, DescriptionText::Read, nullptr);
  io_ = NewIo(this, ReadDatagram, SendReport);
  AVFormatContext* raw = avformat_alloc_context();
  if (described == nullptr || io_ == nullptr || raw == nullptr) {
    FreeIo(described);
    avformat_free_context(raw);
    return Failed(AVERROR(ENOMEM));
  }
  raw->pb = described;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "sdp_flags", "custom_io", 0);
  av_dict_set(&options, "reorder_queue_size", "0", 0);  // nothing overtakes on the loopback
  // Pieces as they come: the end of a picture shows in the RTP header, not only
  // when the next one begins.
  raw->flags |= AVFMT_FLAG_NOPARSE | AVFMT_FLAG_NOFILLIN | AVFMT_FLAG_NOBUFFER;
  const int code = avformat_open_input(&raw, "", av_find_input_format("sdp"), &options);
  av_dict_free(&options);
  FreeIo(described);
  if (code < 0) {
    return Failed(code);  // FFmpeg has freed `raw`
  }
  raw->pb = io_;
  input_.reset(raw);
  return base::Done{};
}

int RtpReceiver::ReadDatagram(void* self, std::uint8_t* into, int size) {
  return static_cast<RtpReceiver*>(self)->Read({into, static_cast<std::size_t>(size)});
}

int RtpReceiver::SendReport(void* self, std::uint8_t* data, int size) {
  const Datagram report(data, data + size);
  // A camera that hears no reports goes on sending: a failure is no reason to end.
  static_cast<void>(static_cast<RtpReceiver*>(self)->socket_.Send({&report, 1}).has_value());
  return size;
}

int RtpReceiver::Read(std::span<std::uint8_t> into) {
  for (;;) {
    const bool last_look = ended_;
    if (control_.stopped()) {
      return AVERROR_EXIT;
    }
    const auto got = socket_.Receive(into);
    if (!got) {
      return AVERROR(EIO);
    }
    if (*got == 0 && last_look) {
      return AVERROR_EOF;
    }
    if (*got > 0 && Note(into.first(*got))) {
      return static_cast<int>(*got);
    }
  }
}

bool RtpReceiver::Note(std::span<const std::uint8_t> datagram) {
  const auto header = ParseRtpHeader(datagram);
  if (!header || header->source != source_) {
    return false;
  }
  gaps_.Note(header->sequence);
  received_ = gaps_.received();
  lost_ = gaps_.lost();
  index_ = clock_.IndexOf(header->timestamp);
  marker_ = header->marker;
  return true;
}

base::Result<std::optional<PictureAssembler::Assembled>> RtpReceiver::Next() {
  if (waiting_) {
    return std::exchange(waiting_, std::nullopt);
  }
  const base::PacketPtr piece = base::NewPacket();
  for (;;) {
    marker_ = false;
    const int code = av_read_frame(input_.get(), piece.get());
    if (code < 0) {
      if (code == AVERROR_EOF || code == AVERROR_EXIT || control_.stopped()) {
        return assembler_.Finish();
      }
      return Failed(code);
    }
    seen_(index_);
    auto before =
        assembler_.Add(index_, {piece->data, static_cast<std::size_t>(std::max(piece->size, 0))});
    av_packet_unref(piece.get());
    auto complete = marker_ ? assembler_.Finish() : std::nullopt;
    if (before) {
      waiting_ = std::move(complete);
      return before;
    }
    if (complete) {
      return complete;
    }
  }
}

}  // namespace bench
