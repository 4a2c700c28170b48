using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Sounds;

/// <summary>The passage's own sound and its rebuilds, as WAV.</summary>
internal static class SoundEndpoints
{
    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/sound/{study}/original", (string study, StudyDesk desk) =>
            desk.Find(study) is { } found && desk.Original(found) is { } sound ? Wav(sound) : TypedResults.NotFound());
        app.MapGet("/sound/{study}/rebuild/{version}", (string study, string version, StudyDesk desk) =>
            desk.Find(study) is { } found && RebuildVersions.TryParse(version, out RebuildVersion chosen) ? Wav(desk.Rebuild(found, chosen)) : TypedResults.NotFound());
    }

    private static Results<FileContentHttpResult, NotFound> Wav(StereoSound sound) =>
        TypedResults.Bytes(WavBytes.Of(sound), "audio/wav", enableRangeProcessing: true);
}
