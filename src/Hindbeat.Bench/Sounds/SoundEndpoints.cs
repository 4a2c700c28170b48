using System.Globalization;
using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Sounds;

/// <summary>The passage's own sound and its rebuilds, as WAV, each with its loudness so that the page can play all equally loud.</summary>
internal static class SoundEndpoints
{
    /// <summary>Integrated loudness after ITU-R BS.1770, LUFS.</summary>
    private const string LoudnessHeader = "Hindbeat-Loudness";

    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/sound/{study}/original", (string study, StudyDesk desk, StudySounds sounds, HttpResponse response) =>
            desk.Find(study) is { } found && sounds.Original(found) is { } sound ? Wav(sound, response) : TypedResults.NotFound());
        app.MapGet("/sound/{study}/rebuild/{version}", (string study, string version, StudyDesk desk, StudySounds sounds, HttpResponse response) =>
            desk.Find(study) is { } found && RebuildVersions.TryParse(version, out RebuildVersion chosen)
                ? Wav(sounds.Rebuild(found, chosen), response)
                : TypedResults.NotFound());
    }

    private static Results<FileContentHttpResult, NotFound> Wav(StereoSound sound, HttpResponse response)
    {
        using var stream = new MemoryStream();
        WavFile.Write(stream, sound, bits: 16);
        double loudness = Loudness.IntegratedLufs(sound);
        if (double.IsFinite(loudness))
            response.Headers[LoudnessHeader] = loudness.ToString("0.00", CultureInfo.InvariantCulture);
        response.Headers.CacheControl = "no-store";
        return TypedResults.Bytes(stream.ToArray(), "audio/wav", enableRangeProcessing: true);
    }
}
