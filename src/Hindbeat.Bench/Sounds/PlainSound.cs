using System.Globalization;
using System.Runtime.InteropServices;
using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Microsoft.AspNetCore.Http;

namespace Hindbeat.Bench.Sounds;

/// <summary>
/// A sound as the page's buffers hold it: 32-bit floats, little-endian, all of the left channel, then all of the right one. Nothing is
/// encoded here or decoded there; both took longer than carrying twice the bytes from one program to the next.
/// </summary>
internal sealed class PlainSound(HeardSound heard) : IResult
{
    /// <summary>"frames a second:frames".</summary>
    private const string ShapeHeader = "Hindbeat-Sound";

    /// <summary>Integrated loudness, LUFS.</summary>
    private const string LoudnessHeader = "Hindbeat-Loudness";

    /// <summary>How the playhead follows: "second of the sound:second of the recording" a beat, commas between.</summary>
    private const string TimesHeader = "Hindbeat-Times";

    private const int FramesAtOnce = 1 << 15;

    public async Task ExecuteAsync(HttpContext httpContext)
    {
        HttpResponse response = httpContext.Response;
        StereoSound sound = heard.Sound;
        response.ContentType = "application/octet-stream";
        response.ContentLength = 2L * sizeof(float) * sound.Left.Length;
        response.Headers.CacheControl = "no-store";
        response.Headers[ShapeHeader] = string.Create(CultureInfo.InvariantCulture, $"{sound.SampleRate}:{sound.Left.Length}");
        if (double.IsFinite(heard.Lufs))
            response.Headers[LoudnessHeader] = heard.Lufs.ToString("0.00", CultureInfo.InvariantCulture);
        if (heard.Times.Count > 0)
            response.Headers[TimesHeader] = string.Join(',', heard.Times.Select(pair => string.Create(CultureInfo.InvariantCulture, $"{pair[0]:0.#####}:{pair[1]:0.#####}")));
        foreach (float[] channel in new[] { sound.Left, sound.Right })
        {
            for (int from = 0; from < channel.Length; from += FramesAtOnce)
            {
                Copy(channel.AsSpan(from, Math.Min(FramesAtOnce, channel.Length - from)), response);
                await response.BodyWriter.FlushAsync(httpContext.RequestAborted);
            }
        }
    }

    private static void Copy(ReadOnlySpan<float> samples, HttpResponse response)
    {
        ReadOnlySpan<byte> bytes = MemoryMarshal.AsBytes(samples);
        bytes.CopyTo(response.BodyWriter.GetSpan(bytes.Length));
        response.BodyWriter.Advance(bytes.Length);
    }
}
